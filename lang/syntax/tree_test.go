package syntax_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Trees are written by hand with the text that each span must cover; a span is
// compared by its text, a token by its kind and text.

func at(text string) source.Span {
	return source.Span{File: source.New("", text), From: 0, To: len(text)}
}

func name(text string) syntax.Name { return syntax.Name{Text: text, Span: at(text)} }

func namePtr(text string) *syntax.Name { n := name(text); return &n }

func unitRef(text string) *syntax.UnitRef { return &syntax.UnitRef{Text: text, Span: at(text)} }

func quoted(written, value string) syntax.Text { return syntax.Text{Value: value, Span: at(written)} }

func quotedPtr(written, value string) *syntax.Text { t := quoted(written, value); return &t }

func body(text string) *syntax.Token { return &syntax.Token{Kind: syntax.Body, Text: text} }

func op(text string) syntax.Token { return syntax.Token{Kind: syntax.Op, Text: text} }

// ex is an expression; in the text every token stands between spaces.
func ex(text string) *syntax.Expr {
	e := &syntax.Expr{Span: at(text)}
	for _, w := range strings.Fields(text) {
		k := syntax.Op
		switch c := w[0]; {
		case c >= '0' && c <= '9':
			k = syntax.Number
		case c >= 'a' && c <= 'z':
			k = syntax.Word
		case c == '[':
			k = syntax.Unit
		}
		e.Toks = append(e.Toks, syntax.Token{Kind: k, Text: w})
	}
	return e
}

func rng(lo, hi *syntax.Expr) *syntax.Range {
	r := &syntax.Range{Lo: lo, Hi: hi}
	text := ".."
	if lo != nil {
		text = lo.Span.Text() + text
	}
	if hi != nil {
		text += hi.Span.Text()
	}
	r.Span = at(text)
	return r
}

func head(keyword, named, whole string) syntax.Head {
	return syntax.Head{Keyword: keyword, Name: name(named), Span: at(whole)}
}

// byText compares spans and tokens by their texts.
var byText = cmp.Options{
	cmp.Transformer("text", func(s source.Span) string { return s.Text() }),
	cmp.Transformer("token", func(t syntax.Token) [2]string { return [2]string{kinds[t.Kind], t.Text} }),
}

var kinds = map[syntax.Kind]string{
	syntax.EOF: "end", syntax.Word: "word", syntax.Number: "number", syntax.Unit: "unit", syntax.String: "text",
	syntax.Path: "path", syntax.Op: "op", syntax.Body: "body", syntax.Newline: "newline", syntax.Bad: "bad",
}

func parse(t *testing.T, text string) *syntax.File {
	t.Helper()
	errs := &diag.List{}
	tree := syntax.Parse(source.New("tune.fettle", text), errs)
	for _, d := range errs.Sorted() {
		t.Errorf("%s %s: %s", d.Code, d.Span, d.Message)
	}
	return tree
}

// sources holds one source a construct, for the tree, and as seeds of the fuzz.
var sources = []struct {
	text string
	want syntax.Decl
}{
	{`use air, "sub/pipes.fettle"`, &syntax.Use{
		Head: syntax.Head{Keyword: "use", Span: at(`use air, "sub/pipes.fettle"`)},
		Items: []syntax.UseItem{
			{Module: name("air"), Span: at("air")},
			{File: quotedPtr(`"sub/pipes.fettle"`, "sub/pipes.fettle"), Span: at(`"sub/pipes.fettle"`)},
		}}},
	{"axis rpm [rev/min] 1000 .. 14000 rpm", &syntax.Axis{
		Head: head("axis", "rpm", "axis rpm [rev/min] 1000 .. 14000 rpm"), Unit: unitRef("rev/min"),
		Range: &syntax.Range{Lo: ex("1000"), Hi: ex("14000 rpm"), Span: at("1000 .. 14000 rpm")}}},
	{"axis gear 1..6", &syntax.Axis{Head: head("axis", "gear", "axis gear 1..6"), Range: rng(ex("1"), ex("6"))}},
	{"given altitude [m] = 40 within ..4500", &syntax.Given{
		Head: head("given", "altitude", "given altitude [m] = 40 within ..4500"), Unit: unitRef("m"), Default: ex("40"), Within: rng(nil, ex("4500"))}},
	{"given blend from fuels = pump98", &syntax.Given{
		Head: head("given", "blend", "given blend from fuels = pump98"), Catalog: namePtr("fuels"), Default: ex("pump98")}},
	{"given wet = no", &syntax.Given{Head: head("given", "wet", "given wet = no"), Default: ex("no")}},
	{"let ratio = 2 * 3 ^ 2", &syntax.Let{Head: head("let", "ratio", "let ratio = 2 * 3 ^ 2"), Body: ex("2 * 3 ^ 2")}},
	{"let rail [kPa] = if wet then 3 else 4", &syntax.Let{
		Head: head("let", "rail", "let rail [kPa] = if wet then 3 else 4"), Unit: unitRef("kPa"), Body: ex("if wet then 3 else 4")}},
	{"fn half(x [mg] within 0.., y) [g] = x / 2", &syntax.Fn{
		Head: head("fn", "half", "fn half(x [mg] within 0.., y) [g] = x / 2"), Unit: unitRef("g"), Body: ex("x / 2"),
		Params: []syntax.Param{{Name: name("x"), Unit: unitRef("mg"), Within: rng(ex("0"), nil)}, {Name: name("y")}}}},
	{"fn nothing() = 1", &syntax.Fn{Head: head("fn", "nothing", "fn nothing() = 1"), Body: ex("1")}},
	{`catalog jets from "jets.csv"`, &syntax.Catalog{
		Head: head("catalog", "jets", `catalog jets from "jets.csv"`), File: quotedPtr(`"jets.csv"`, "jets.csv")}},
	{"catalog jets {\n  name | bore\n}", &syntax.Catalog{
		Head: head("catalog", "jets", "catalog jets {\n  name | bore\n}"), Body: body("\n  name | bore\n")}},
	{"curve dead [ms] {\n  battery [V] | 8 12\n | 1.7 _\n}", &syntax.Curve{
		Head: head("curve", "dead", "curve dead [ms] {\n  battery [V] | 8 12\n | 1.7 _\n}"), Unit: unitRef("ms"), Body: body("\n  battery [V] | 8 12\n | 1.7 _\n")}},
	{"map fuel [mg] to 0.01 { rpm | 1\n| 2 }", &syntax.Map{
		Head: head("map", "fuel", "map fuel [mg] to 0.01 { rpm | 1\n| 2 }"), Unit: unitRef("mg"), To: ex("0.01"), Body: body(" rpm | 1\n| 2 ")}},
	{`map fuel from "base.csv"`, &syntax.Map{Head: head("map", "fuel", `map fuel from "base.csv"`), File: quotedPtr(`"base.csv"`, "base.csv")}},
	{"map duty [%] like fuel = fuel / 3 mg", &syntax.Map{
		Head: head("map", "duty", "map duty [%] like fuel = fuel / 3 mg"), Unit: unitRef("%"), Like: namePtr("fuel"), Expr: ex("fuel / 3 mg")}},
	{"region mid = rpm 6000..8500 feather 500, throttle 50 %..", &syntax.Region{
		Head: head("region", "mid", "region mid = rpm 6000..8500 feather 500, throttle 50 %.."),
		Parts: []syntax.Part{
			{Name: name("rpm"), Range: rng(ex("6000"), ex("8500")), Feather: ex("500"), Span: at("rpm 6000..8500 feather 500")},
			{Name: name("throttle"), Range: rng(ex("50 %"), nil), Span: at("throttle 50 %..")},
		}}},
	{"rule thin corrects altitude, air_temp when wet {\n  fuel *= 2 # twice\n  spark -= - 2 deg over mid, rpm ..7000 where rpm > 3\n}", &syntax.Rule{
		Head: head("rule", "thin", "rule thin corrects altitude, air_temp when wet {\n  fuel *= 2 # twice\n  spark -= - 2 deg over mid, rpm ..7000 where rpm > 3\n}"),
		When: ex("wet"), Corrects: []syntax.Name{name("altitude"), name("air_temp")},
		Adjusts: []*syntax.Adjust{
			{Map: name("fuel"), Op: op("*="), Amount: ex("2"), Span: at("fuel *= 2")},
			{Map: name("spark"), Op: op("-="), Amount: ex("- 2 deg"), Where: ex("rpm > 3"),
				Over: []syntax.Part{{Name: name("mid"), Span: at("mid")}, {Name: name("rpm"), Range: rng(nil, ex("7000")), Span: at("rpm ..7000")}},
				Span: at("spark -= - 2 deg over mid, rpm ..7000 where rpm > 3")},
		}}},
	{"rule rich { fuel += 3 % }", &syntax.Rule{Head: head("rule", "rich", "rule rich { fuel += 3 % }"),
		Adjusts: []*syntax.Adjust{{Map: name("fuel"), Op: op("+="), Amount: ex("3 %"), Span: at("fuel += 3 %")}}}},
	{"limit knock: 10 <= spark <= 28 deg when wet where rpm > 1 else warn", &syntax.Limit{
		Head: head("limit", "knock", "limit knock: 10 <= spark <= 28 deg when wet where rpm > 1 else warn"),
		Cond: ex("10 <= spark <= 28 deg"), When: ex("wet"), Where: ex("rpm > 1"), Else: namePtr("warn")}},
	{"variant bench { }", &syntax.Variant{Head: head("variant", "bench", "variant bench { }")}},
	{"variant june from season/stock-pump98-820m { air_temp = -2 degC }", &syntax.Variant{
		Head: head("variant", "june", "variant june from season/stock-pump98-820m { air_temp = -2 degC }"), From: namePtr("season/stock-pump98-820m"),
		Settings: []*syntax.Setting{{Given: name("air_temp"), Span: at("air_temp = -2 degC"),
			Values: []*syntax.Expr{{Toks: ex("- 2 degC").Toks, Span: at("-2 degC")}}}}}},
	{"variants season {\n  pipe = stock, long\n  except pipe is long and wet\n  trim fuel += 2 % over rpm 9000..\n}", &syntax.Variant{
		Head:     head("variants", "season", "variants season {\n  pipe = stock, long\n  except pipe is long and wet\n  trim fuel += 2 % over rpm 9000..\n}"),
		Matrix:   true,
		Settings: []*syntax.Setting{{Given: name("pipe"), Values: []*syntax.Expr{ex("stock"), ex("long")}, Span: at("pipe = stock, long")}},
		Except:   []*syntax.Expr{ex("pipe is long and wet")},
		Trims: []*syntax.Adjust{{Map: name("fuel"), Op: op("+="), Amount: ex("2 %"), Span: at("trim fuel += 2 % over rpm 9000.."),
			Over: []syntax.Part{{Name: name("rpm"), Range: rng(ex("9000"), nil), Span: at("rpm 9000..")}}}}}},
	{"check \"a \\\"proven\\\" base\" with season/*-820? {\n  x == 16 mg +- 1 %\n  not wet\n}", &syntax.Check{
		Head:  syntax.Head{Keyword: "check", Name: syntax.Name{Text: `a "proven" base`, Span: at(`"a \"proven\" base"`)}, Span: at("check \"a \\\"proven\\\" base\" with season/*-820? {\n  x == 16 mg +- 1 %\n  not wet\n}")},
		Title: quoted(`"a \"proven\" base"`, `a "proven" base`), With: name("season/*-820?"),
		Expects: []*syntax.Expect{{Cond: ex("x == 16 mg"), Tol: ex("1 %"), Span: at("x == 16 mg +- 1 %")}, {Cond: ex("not wet"), Span: at("not wet")}}}},
	{"review {\n  allow fuel = 2 % # far\n  allow allow = (0.5 deg + 1 deg)\n}", &syntax.Review{
		Head: syntax.Head{Keyword: "review", Span: at("review {\n  allow fuel = 2 % # far\n  allow allow = (0.5 deg + 1 deg)\n}")},
		Allows: []*syntax.Allow{
			{Map: name("fuel"), Amount: ex("2 %"), Span: at("allow fuel = 2 %")},
			{Map: name("allow"), Amount: &syntax.Expr{Toks: ex("( 0.5 deg + 1 deg )").Toks, Span: at("(0.5 deg + 1 deg)")}, Span: at("allow allow = (0.5 deg + 1 deg)")},
		}}},
	{"review { }", &syntax.Review{Head: syntax.Head{Keyword: "review", Span: at("review { }")}}},
	{"target ecu {\n  compensates alt, temp\n  bytes big\n  # of the lower one\n  table open = as as u16 step 4 us offset 1 at by 0, idle, lo..9 by 1, rpm auto 12 by 250\n  table plain = fuel as f32\n}", &syntax.Target{
		Head:        syntax.Head{Keyword: "target", Name: name("ecu"), Span: at("target ecu {\n  compensates alt, temp\n  bytes big\n  # of the lower one\n  table open = as as u16 step 4 us offset 1 at by 0, idle, lo..9 by 1, rpm auto 12 by 250\n  table plain = fuel as f32\n}")},
		Compensates: []syntax.Name{name("alt"), name("temp")},
		Bytes:       namePtr("big"),
		Tables: []*syntax.TargetTable{
			{Name: name("open"), Map: name("as"), Type: namePtr("u16"), Step: ex("4 us"), Offset: ex("1"), Doc: "of the lower one",
				Points: []syntax.AxisPoints{
					{Axis: name("by"), Span: at("by 0, idle, lo..9 by 1"), Items: []syntax.PointItem{
						{Value: ex("0"), Span: at("0")}, {Value: ex("idle"), Span: at("idle")},
						{Range: &syntax.Range{Lo: ex("lo"), Hi: ex("9"), Span: at("lo..9")}, By: ex("1"), Span: at("lo..9 by 1")}}},
					{Axis: name("rpm"), Auto: ex("12"), By: ex("250"), Span: at("rpm auto 12 by 250")}},
				Span: at("table open = as as u16 step 4 us offset 1 at by 0, idle, lo..9 by 1, rpm auto 12 by 250")},
			{Name: name("plain"), Map: name("fuel"), Type: namePtr("f32"), Span: at("table plain = fuel as f32")},
		}}},
	{"target bare { }", &syntax.Target{Head: syntax.Head{Keyword: "target", Name: name("bare"), Span: at("target bare { }")}}},
	{"bundle rain for ecu {\n  differs wet, for_it\n  1 = season/*-820m # dry\n  2 = 2nd\n  jump jump = 0.5 deg\n}", &syntax.Bundle{
		Head:    syntax.Head{Keyword: "bundle", Name: name("rain"), Span: at("bundle rain for ecu {\n  differs wet, for_it\n  1 = season/*-820m # dry\n  2 = 2nd\n  jump jump = 0.5 deg\n}")},
		For:     namePtr("ecu"),
		Differs: []syntax.Name{name("wet"), name("for_it")},
		Slots: []*syntax.Slot{
			{Number: name("1"), Tune: name("season/*-820m"), Span: at("1 = season/*-820m")},
			{Number: name("2"), Tune: name("2nd"), Span: at("2 = 2nd")},
		},
		Jumps: []*syntax.Allow{{Map: name("jump"), Amount: ex("0.5 deg"), Span: at("jump jump = 0.5 deg")}}}},
	{"bundle two { 1 = a }", &syntax.Bundle{Head: syntax.Head{Keyword: "bundle", Name: name("two"), Span: at("bundle two { 1 = a }")},
		Slots: []*syntax.Slot{{Number: name("1"), Tune: name("a"), Span: at("1 = a")}}}},
	{`caution "hot \\ cold"`, &syntax.Caution{
		Head: syntax.Head{Keyword: "caution", Name: syntax.Name{Text: `hot \ cold`, Span: at(`"hot \\ cold"`)}, Span: at(`caution "hot \\ cold"`)},
		Text: quoted(`"hot \\ cold"`, `hot \ cold`)}},
}

func TestTree(t *testing.T) {
	for _, c := range sources {
		// Among others, so that a place is told from its file's start.
		tree := parse(t, "# é\nlet before = 1\n\n"+c.text+"\n\nlet after = 2\n")
		if len(tree.Decls) != 3 {
			t.Errorf("%s\n%d declarations", c.text, len(tree.Decls))
			continue
		}
		if d := cmp.Diff(c.want, tree.Decls[1], byText); d != "" {
			t.Errorf("%s\n%s", c.text, d)
		}
	}
}

// The constructs stand in one file as they do alone, and with CRLF as with LF.
func TestTreeOfOneFile(t *testing.T) {
	var text strings.Builder
	for _, c := range sources {
		text.WriteString(c.text + "\n")
	}
	tree := parse(t, text.String())
	crlf := parse(t, "\ufeff"+strings.ReplaceAll(text.String(), "\n", "\r\n"))
	if len(tree.Decls) != len(sources) || len(crlf.Decls) != len(sources) {
		t.Fatalf("%d and %d declarations, want %d", len(tree.Decls), len(crlf.Decls), len(sources))
	}
	plain := cmp.Options{
		cmp.Transformer("text", func(s source.Span) string { return strings.ReplaceAll(s.Text(), "\r", "") }),
		cmp.Transformer("token", func(t syntax.Token) [2]string { return [2]string{kinds[t.Kind], strings.ReplaceAll(t.Text, "\r", "")} }),
	}
	for i, c := range sources {
		if d := cmp.Diff(c.want, tree.Decls[i], byText); d != "" {
			t.Errorf("%s\n%s", c.text, d)
		}
		if d := cmp.Diff(c.want, crlf.Decls[i], plain); d != "" {
			t.Errorf("with CRLF: %s\n%s", c.text, d)
		}
	}
}

func TestDocs(t *testing.T) {
	tree := parse(t, "# far\n\n# one\n#  two\n#\n# µ three\nlet a = 1 # behind\nlet b = 2\n  # inside\nlet c = 3\n")
	want := []string{"one\n two\n\nµ three", "", "inside"}
	var got []string
	for _, d := range tree.Decls {
		got = append(got, d.Header().Doc)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	var whole, behind int
	for _, c := range tree.Comments {
		if c.Whole {
			whole++
		} else {
			behind++
		}
		if c.Text != tree.Source.Text[c.From:c.From+len(c.Text)] || c.Text[0] != '#' {
			t.Errorf("comment %q", c.Text)
		}
	}
	if whole != 6 || behind != 1 {
		t.Errorf("%d whole-line comments and %d others, want 6 and 1", whole, behind)
	}
}
