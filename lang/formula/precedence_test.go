package formula_test

import (
	"regexp"
	"testing"

	"fettle/lang/formula"
)

var digit = regexp.MustCompile(`\b[1-9]\b`)

// Each expression is computed as it stands, which folds it at once, and with
// givens in place of its numbers, which doesn't.
func TestPrecedence(t *testing.T) {
	s := newShop(t)
	for _, c := range []struct {
		text string
		want float64
	}{
		{"-2 ^ 2", -4}, {"(-2) ^ 2", 4}, {"2 ^ -1", 0.5}, {"2 ^ 3 ^ 2", 512}, {"(2 ^ 3) ^ 2", 64}, {"-2 ^ -2", -0.25}, {"2 * 3 ^ 2", 18}, {"- 2 * 3", -6},
		{"2 + 3 * 4", 14}, {"(2 + 3) * 4", 20}, {"8 / 4 / 2", 1}, {"8 / (4 / 2)", 4}, {"8 / 4 * 2", 4}, {"8 - 4 - 2", 2}, {"8 - (4 - 2)", 6}, {"8 - 4 + 2", 6},
		{"2 - -3", 5}, {"2 - - 3", 5}, {"- -2", 2}, {"2 * -3", -6}, {"-2 + 3", 1}, {"-(2 + 3)", -5},
		{"1 + 2 < 4", 1}, {"1 < 2 + 4", 1}, {"2 * 2 == 4", 1}, {"2 != 2", 0}, {"2 <= 2", 1}, {"3 <= 2", 0}, {"2 >= 3", 0}, {"2 > 2", 0}, {"2 < 2", 0},
		{"not 1 == 2", 1}, {"not 1 == 1", 0}, {"not not 1 == 1", 1}, {"not 1 > 2 and 3 > 2", 1}, {"not (1 < 2 and 3 > 2)", 0}, {"not 1 > 2 or 1 == 1", 1},
		{"1 == 1 or 1 == 2 and 1 == 2", 1}, {"(1 == 1 or 1 == 2) and 1 == 2", 0}, {"1 == 2 and 1 == 2 or 1 == 1", 1}, {"1 == 2 or not 1 == 2 and 2 == 2", 1},
		{"if 1 < 2 then 3 else 4", 3}, {"if 1 > 2 then 3 else 4", 4}, {"if 1 > 2 then 3 else 4 + 5", 9}, {"(if 1 > 2 then 3 else 4) + 5", 9}, {"(if 1 < 2 then 3 else 4) + 5", 8},
		{"if 1 > 2 then 3 else if 2 > 3 then 4 else 5", 5}, {"if 1 > 2 then 3 else if 2 < 3 then 4 else 5", 4}, {"if 1 < 2 then if 2 > 3 then 6 else 7 else 8", 7},
		{"if 1 > 2 then if 2 > 3 then 6 else 7 else 8", 8}, {"if 1 < 2 and 2 < 1 or 1 == 1 then 3 else 4", 3}, {"if not 1 > 2 then 3 else 4", 3},
		{"if 1 < 2 then not 1 < 2 else 1 == 1", 0}, {"2 * (if 1 > 2 then 3 else 4)", 8}, {"max(1, if 1 < 2 then 3 else 4, 2)", 3}, {"-(if 1 < 2 then 3 else 4)", -3},
		{"not (if 1 < 2 then 1 > 2 else 1 == 1)", 1}, {"2 ^ (if 1 < 2 then 3 else 4)", 8}, {"(not 1 > 2) and (not 2 > 3)", 1},
		{"min(3, 1, 2)", 1}, {"max(3, 1, 2)", 3}, {"clamp(7, 2, 5)", 5}, {"clamp(1, 2, 5)", 2}, {"clamp(3, 2, 5)", 3}, {"abs(2 - 5)", 3}, {"abs(-2) ^ 2", 4}, {"sqrt(9) ^ 2", 9},
		{"round(5 / 2)", 2}, {"round(7 / 2)", 4}, {"round(-5 / 2)", -2}, {"floor(-3 / 2)", -2}, {"ceil(-3 / 2)", -1}, {"ceil(3 / 2)", 2}, {"floor(3 / 2)", 1},
		{"exp(1 - 1)", 1}, {"log(exp(2))", 2}, {"+2", 2},
	} {
		for _, text := range []string{c.text, digit.ReplaceAllString(c.text, "n$0")} {
			if text == "+n2" {
				continue // a + before a name does nothing, and is refused
			}
			v := mustCompile(t, anywhere(s), text)
			got, err := value(t, s, v.Node)
			if err != nil || got != c.want {
				t.Errorf("%s is %v (%v), want %v", text, got, err, c.want)
			}
			if v.Node.Span.Text() != text {
				t.Errorf("%s stands at %q", text, v.Node.Span.Text())
			}
			if folded := v.Node.Op == formula.Const; folded != (text == c.text) {
				t.Errorf("%s: folded is %v", text, folded)
			}
		}
	}
}

func TestFaultsOfForm(t *testing.T) {
	s := newShop(t)
	for text, want := range map[string]string{
		"1 < 2 < 3":                   "E310 at <",
		"1 == 2 is 3":                 "E310 at is",
		"1 + if 1 < 2 then 3 else 4":  "E309 at if",
		"if 1 < 2 then 3":             "E313 at if",
		"if 1 < 2 else 3":             "E313 at if",
		"then 3":                      "E313 at then",
		"1 +":                         "E313 at +",
		"(1 + 2":                      "E103 at (",
		"1 + * 2":                     "E313 at *",
		"1 2":                         "E307 at 2",
		"2 (3)":                       "E313 at 2 (3)",
		"oil_ratio oil_ratio":         "E307 at oil_ratio",
		"+oil_ratio":                  "E313 at +",
		"1 = 2":                       "E312 at =",
		"wet && cold":                 "E312 at &&",
		"2 ** 3":                      "E312 at **",
		"3 mm ^ 2":                    "E305 at 3 mm ^",
		"[mg] + 1":                    "E302 at [mg]",
		"7 % % 2":                     "E311 at %",
		"oil_ratio % 2":               "E311 at %",
		"0x10":                        "E304 at 0x10",
		"1_000":                       "E304 at 1_000",
		"1.5.2":                       "E304 at 1.5.2",
		".5":                          "E304 at .5",
		"1e999":                       "E304 at 1e999",
		"5 in":                        "E306 at in",
		"420 g/min":                   "E306 at g/min",
		"5 parsecs":                   "E308 at parsecs",
		"5 [mg/parsec]":               "E308 at parsec",
		"yes":                         "E314 at yes",
		"wet == yes":                  "E314 at ==",
		"\"text\"":                    "E303 at \"text\"",
		"1 .. 2":                      "E303 at ..",
		"over":                        "E303 at over",
		"wet + 1":                     "E320 at wet",
		"not 1":                       "E320 at 1",
		"1 and wet":                   "E320 at 1",
		"wet < cold":                  "E320 at wet",
		"if 1 then 2 else 3":          "E320 at 1",
		"if wet then cold else 3":     "E320 at if wet then cold else 3",
		"min(wet, 1)":                 "E320 at wet",
		"nothing + 1":                 "E316 at nothing",
		"fuels.nothing.stoich":        "E316 at fuels.nothing.stoich",
		"blend.nothing":               "E316 at blend.nothing",
		"blend.note":                  "E320 at blend.note",
		"blend":                       "E315 at blend",
		"fuels.pump98":                "E315 at fuels.pump98",
		"altitude.high":               "E315 at altitude.high",
		"half":                        "E319 at half",
		"half()":                      "E319 at half()",
		"half(1 mg, 2 mg)":            "E319 at half(1 mg, 2 mg)",
		"altitude(3)":                 "E319 at altitude",
		"fuel(rpm)":                   "E319 at fuel(rpm)",
		"fuel(rpm, throttle)":         "E319 at rpm, throttle",
		"coolant":                     "E317 at coolant",
		"ratio_of":                    "E317 at ratio_of",
		"step(fuel, coolant)":         "E317 at coolant",
		"step(rpm, rpm)":              "E319 at rpm",
		"step(fuel * 2, rpm)":         "E319 at step(fuel * 2, rpm)",
		"step(fuel, altitude)":        "E319 at altitude",
		"sqrt(1, 2)":                  "E319 at sqrt(1, 2)",
		"min(1)":                      "E319 at min(1)",
		"clamp(1, 5, 2)":              "E502 at clamp(1, 5, 2)",
		"2(3)":                        "E313 at 2(3)",
		"altitude is pump98":          "E326 at altitude",
		"blend == pump98":             "E326 at ==",
		"blend is nothing":            "E316 at nothing",
		"blend is fuels.pump98 + 1":   "E326 at blend is fuels.pump98 + 1",
		"1 is 2":                      "E326 at 1 is 2",
		"blend is not pump98":         "E326 at is not",
		"min(1, 2,)":                  "E313 at ,",
		"speed ^ oil_ratio":           "E325 at speed ^ oil_ratio",
		"2 ^ altitude":                "E325 at altitude",
		"altitude ^ 13":               "E325 at altitude ^ 13",
		"speed ^ 0.37":                "E325 at speed ^ 0.37",
		"exp(altitude)":               "E325 at altitude",
		"round(3 mg)":                 "E325 at 3 mg",
		"altitude + speed":            "E322 at altitude + speed",
		"altitude < fuel":             "E322 at altitude < fuel",
		"min(altitude, fuel)":         "E322 at fuel",
		"if wet then fuel else speed": "E322 at speed",
		"half(altitude)":              "E322 at altitude",
		"fuel(throttle, altitude)":    "E322 at altitude",
		"half(hot(20 degC))":          "E320 at hot(20 degC)",
	} {
		if got := fault(anywhere(s), text); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

// What may be seen depends on the place.
func TestWhatMayBeSeen(t *testing.T) {
	s := newShop(t)
	bare, when, check := formula.Context{Scope: s, What: "a fixed value"}, noCell(s), formula.Context{Scope: s, Givens: true, Maps: true, What: "a check"}
	limit := formula.Context{Scope: s, Cell: true, Maps: true, AnyAx: true, Givens: true, Chain: true, What: "a limit"}
	for _, c := range []struct {
		ctx        formula.Context
		text, want string
	}{
		{bare, "rail / 2", ""}, {bare, "fuels.pump98.stoich", ""}, {bare, "altitude", "E318 at altitude"}, {bare, "blend.stoich", "E318 at blend.stoich"},
		{bare, "blend is pump98", "E318 at blend"}, {bare, "wet", "E318 at wet"}, {bare, "twice", "E318 at twice"}, {bare, "rpm", "E318 at rpm"}, {bare, "fuel", "E318 at fuel"},
		{when, "high and wet", ""}, {when, "rpm > 3", "E318 at rpm"}, {when, "fuel > 3", "E318 at fuel"}, {when, "fuel(1 %, 2 rpm) > 3", "E318 at fuel"},
		{when, "step(fuel, rpm) > 3 mg", "E318 at fuel"},
		{check, "fuel(1 %, 2 rpm) > 3", ""}, {check, "fuel > 3", "E318 at fuel"}, {check, "fuel(throttle, 2 rpm) > 3", "E318 at throttle"},
		{limit, "metal < coolant", ""}, {limit, "1 < fuel < 3", ""}, {limit, "1 < fuel > 3", "E310 at >"}, {limit, "1 < fuel < 3 and wet", "E310 at <"}, {limit, "1 < 2 < 3 < 4", "E310 at <"},
		{limit, "(1 < fuel < 3)", "E310 at <"},
	} {
		if got := fault(c.ctx, c.text); got != c.want {
			t.Errorf("%s: %s in %s: %q, want %q", c.ctx.What, c.text, c.ctx.What, got, c.want)
		}
	}
	v := mustCompile(t, limit, "10 < fuel <= 12")
	if got, _ := value(t, s, v.Node); got != 1 || v.Node.Op != formula.And {
		t.Errorf("a range is %v, a %v", got, v.Node.Op)
	}
	s.here[0] = 12.5
	if got, _ := value(t, s, v.Node); got != 0 {
		t.Error("12.5 is within 10 < fuel <= 12")
	}
}
