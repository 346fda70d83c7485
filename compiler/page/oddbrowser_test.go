package page_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fettle/compiler/diff"
	"fettle/compiler/page"
	"fettle/compiler/review"
)

// Other reviews than that of a change in a source of two-axis maps.
func TestOddPagesInBrowser(t *testing.T) {
	ctx := browser(t)
	t.Run("hostile texts", func(t *testing.T) {
		b := openPage(t, ctx, []byte(written(t, hostile(t), page.Options{Call: nasty})), desk)
		if got := ask[[]any](b, `[window.pwned || null, document.scripts.length, document.images.length, document.querySelectorAll("body script").length, document.title.includes("</script>")]`); fmt.Sprint(got) != "[<nil> 2 0 2 true]" {
			t.Errorf("the texts did something: %v", got)
		}
		for _, selector := range []string{".sides", ".cautions", "#sum", "#limits", "#source", "#made", ".command"} {
			if got := b.text(selector); !strings.Contains(got, `<img src=x onerror="window.pwned=2">`) {
				t.Errorf("%s doesn't tell the text as it is: %s", selector, got)
			}
		}
	})

	t.Run("one axis, other breakpoints, degrees, no resolution", func(t *testing.T) {
		r := compared(t, "lantern", "", review.Options{},
			edit{"engine.fettle", "|    2.10    1.50", "|    2.40    1.50"},
			edit{"engine.fettle", "map spark [deg] to 0.1 {\n  throttle \\ rpm |   1500   2500", "map spark [deg] to 0.1 {\n  throttle \\ rpm |   1500   2600"},
			edit{"engine.fettle", "  0              |   260   265", "  0              |   260   285"},
			edit{"engine.fettle", "map warm_up [%] to 0.1 {", "map warm_up [%] {"}, edit{"engine.fettle", "|   42     30.5", "|   42     31.0375"})
		b := openPage(t, ctx, []byte(written(t, r, page.Options{})), desk)
		choose(b, "bench")
		show := func(name string) {
			t.Helper()
			b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.maps [data-value=` + name + `]').click()`))
		}
		for _, c := range []struct{ name, head, plots, cells string }{
			{"dead_time", "dead_time at volts 8 V 2.10 → 2.40 ms +0.30 ms, +14.3 %", "1", "5"},
			{"warm_up", "warm_up at head_temp 20 degF 30.5 → 31.0375 % +0.5375 points", "1", "7"},
			{"seat_temp", "seat_temp at throttle 0 %, rpm 2500 265 → 285 degF", "2", "80"},
			{"spark", "spark at throttle 0 %, rpm 25", "2", "88"},
		} {
			show(c.name)
			if got := b.text(".cell-head"); !strings.HasPrefix(got, c.head) {
				t.Errorf("%s is told as %q", c.name, got)
			}
			if got := ask[string](b, `document.querySelectorAll(".plots svg").length + " " + document.querySelectorAll(".heat.live td").length`); got != c.plots+" "+c.cells {
				t.Errorf("%s has as many plots and cells as %s", c.name, got)
			}
			b.shot("lantern-" + c.name + "-whole")
		}
		if got := b.text(".main"); !strings.Contains(got, "other breakpoints on `rpm`") || !strings.Contains(got, "between breakpoints, so of the cell that weighs most") {
			t.Errorf("other breakpoints aren't told: %s", got)
		}
	})

	t.Run("what a policy hides", func(t *testing.T) {
		r := compared(t, "tussock", "season/stock-*", review.Options{Policy: within(0.02), PolicyText: []string{"all maps 2 %"}, PolicyFrom: "--allow"}, typo, newRule)
		b := openPage(t, ctx, []byte(written(t, r, page.Options{})), desk)
		choose(b, "season/stock-club-pump98-40m")
		if n := ask[int](b, `[...document.querySelectorAll(".heat.live td")].filter((e) => e.textContent && !e.classList.contains("out")).length`); n != 1 {
			t.Errorf("%d cells are shown beyond what is allowed", n)
		}
		if n := ask[int](b, `document.querySelectorAll(".heat.live td.out").length`); n < 200 {
			t.Errorf("only %d cells are muted", n)
		}
		b.click(`.heat.live tbody tr:nth-child(2) td:nth-child(3)`)
		if got := b.text(".cell-head"); !strings.HasSuffix(got, "allowed by the policy") {
			t.Errorf("an allowed cell is told as %q", got)
		}
		if got := b.text("#sum"); !strings.Contains(got, "all maps 2 % (--allow)") {
			t.Errorf("the policy isn't told: %s", got)
		}
		offered := func() string {
			return ask[string](b, `["#by", "#map"].map((s) => [...document.querySelector(s).options].map((o) => o.value).filter(Boolean).join(" ")).join("; ")`)
		}
		if got := offered(); strings.Contains(got, "spark") || !strings.Contains(got, "; fuel ") {
			t.Errorf("the filters offer %s", got)
		}
		b.click("#hidden")
		if got := offered(); !strings.Contains(got, "spark") {
			t.Errorf("with what is hidden the filters offer %s", got)
		}
		if n := ask[int](b, `document.querySelectorAll(".heat.live td.out").length`); n != 0 {
			t.Errorf("%d cells are muted still", n)
		}
		set(b, "#map", "spark")
		if got := offered(); !strings.HasPrefix(got, "rule richer;") {
			t.Errorf("of spark the filters offer %s", got)
		}
		b.click("#hidden")
		if got := b.text("#count"); ask[string](b, `document.querySelector("#map").value`) != "" || strings.HasPrefix(got, "0 ") {
			t.Errorf("a map that gives nothing is still asked for: %s", got)
		}
	})

	t.Run("tunes that a policy hides whole", func(t *testing.T) {
		r := compared(t, "tussock", "season/stock-club-*", review.Options{Policy: all{}, PolicyText: []string{"all maps"}, PolicyFrom: "--allow"}, newRule)
		if len(r.Entries) > 0 || len(r.Allowed) == 0 {
			t.Fatalf("%d entries, %d hidden", len(r.Entries), len(r.Allowed))
		}
		b := openPage(t, ctx, []byte(written(t, r, page.Options{})), desk)
		if got := b.text("#count"); got != "0 of 0 tunes" {
			t.Errorf("before it is asked for there are %s", got)
		}
		b.click("#hidden")
		if got, want := b.text("#count"), fmt.Sprintf("%d of %d tunes", len(r.Allowed), len(r.Allowed)); got != want {
			t.Errorf("there are %s, not %s", got, want)
		}
		if got := b.text(".cell-head"); !strings.HasSuffix(got, "allowed by the policy") {
			t.Errorf("an allowed cell is told as %q", got)
		}
	})

	t.Run("a limit's cell is shown in the map that changes there", func(t *testing.T) {
		r := compared(t, "tussock", "", review.Options{Policy: within(1), PolicyText: []string{"all maps 100 %"}, PolicyFrom: "--allow"}, edit{"pipes.fettle", "spark += 0.5 deg over the_hit", "spark += 1.2 deg over the_hit"})
		b := openPage(t, ctx, []byte(written(t, r, page.Options{})), desk)
		b.click(".alarm .jump[data-map=spark]")
		if got := b.text(".cell-head"); !strings.HasPrefix(got, "spark at ") || !strings.HasSuffix(got, "allowed by the policy") || !ask[bool](b, `document.querySelector("#hidden").checked`) {
			t.Errorf("the cell is told as %q", got)
		}
	})

	t.Run("tables without a source", func(t *testing.T) {
		table := func(last float64) []*diff.Side {
			return []*diff.Side{{Name: "bench", Tables: []*diff.Table{{Map: "fuel", Unit: "mg", HasUnit: true, Rows: diff.Axis{Name: "throttle", Unit: "%", Points: []float64{0, 100}},
				Cols: diff.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 2000, 3000}}, Cells: []float64{1, 2, 3, 4, 5.25, last}}}}}
		}
		r, err := review.Make(&review.Side{Origin: review.Origin{Title: "./old", Kind: review.KindFolder}, Tables: table(6)}, &review.Side{Origin: review.Origin{Title: "./new", Kind: review.KindFolder}, Tables: table(6.5)}, review.Options{})
		must(t, err)
		b := openPage(t, ctx, []byte(written(t, r, page.Options{})), desk)
		if got := b.text(".cell"); !strings.HasPrefix(got, "fuel at throttle 100 %, rpm 3000 6 → 6.5 mg +0.5 mg, +8.3 %") || !strings.Contains(got, "No chain of this cell is in this page.") {
			t.Errorf("the cell is told as %q", got)
		}
	})
}

// all allows every change: also that from an injector that is shut.
type all struct{}

func (all) Within(string, float64, float64) bool { return true }

// within allows changes up to a share.
type within float64

func (w within) Within(_ string, old, new float64) bool {
	return math.Abs(new-old) <= float64(w)*math.Abs(old)+0.25
}
