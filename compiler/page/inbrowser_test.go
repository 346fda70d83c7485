package page_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fettle/compiler/diff"
	"fettle/compiler/page"
	"fettle/compiler/review"
)

// The page as people meet it: opened from disk in a real browser. Each tab looks
// when it closes that nothing was complained of and nothing was asked for.
func TestInBrowser(t *testing.T) {
	ctx := browser(t)
	r, html := whole(t)
	open := func(t *testing.T, s screen) *tab { return openPage(t, ctx, []byte(html), s) }

	t.Run("first screen", func(t *testing.T) {
		for _, s := range []screen{desk, {width: 360, height: 740}} {
			b := open(t, s)
			b.shot(fmt.Sprintf("first-%d", s.width))
			seen := ask[string](b, `[...document.querySelectorAll(".alarm .what")].filter((e) => e.getBoundingClientRect().height > 0 && e.getBoundingClientRect().bottom <= innerHeight).map((e) => e.textContent).join("\n")`)
			for _, want := range []string{"limit lower_opens newly fails", "limit pump was loosened to pump_flow <= 300 [g/min]", "fuel at throttle 60 %, rpm 10500: 10.70 → 1.07 mg"} {
				if !strings.Contains(seen, want) {
					t.Errorf("at %d by %d nobody sees %q before scrolling, but:\n%s", s.width, s.height, want, seen)
				}
			}
		}
	})

	t.Run("a click shows the chain", func(t *testing.T) {
		b := open(t, desk)
		b.click(".jump[data-map=fuel]")
		tune := b.text("#view h3")
		for _, at := range [][2]int{{12, 14}, {0, 0}, {15, 21}} {
			b.click(fmt.Sprintf(`.heat.live tbody tr:nth-child(%d) td:nth-child(%d)`, at[0]+1, at[1]+2))
			sameChain(t, b, r, tune, "fuel", at[0], at[1])
		}
		b.click(`.maps [data-value=spark]`)
		b.click(`.heat.live tbody tr:nth-child(16) td:nth-child(10)`)
		sameChain(t, b, r, tune, "spark", 15, 8)
		b.shot("chain")
	})

	t.Run("every chain of a tune", func(t *testing.T) {
		b := open(t, desk)
		for _, tune := range []string{"season/long-mild-pump98-1640m", "season/short-high-race102-820m", "rimside_rain"} {
			choose(b, tune)
			for _, name := range []string{"fuel", "spark", "fuel_upper"} {
				b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.maps [data-value=` + name + `]').click()`))
				everyChain(t, b, r, tune, name)
			}
		}
	})

	t.Run("filters", func(t *testing.T) {
		b := open(t, desk)
		count := func() int { return ask[int](b, `document.querySelector("#tunes").length`) }
		shown := func() int {
			return ask[int](b, `[...document.querySelectorAll(".heat.live td")].filter((e) => e.textContent && !e.classList.contains("out")).length`)
		}
		if n := count(); n != 192 {
			t.Fatalf("%d tunes are listed", n)
		}
		b.click("#find")
		b.do(chromedp.KeyEvent("LONG-club"))
		if n := count(); n != 20 {
			t.Errorf("%d tunes are called long-club", n)
		}
		if got := b.text("#count"); got != "20 of 192 tunes" {
			t.Errorf("the count says %q", got)
		}
		all := shown()
		set(b, "#by", "base of fuel")
		if n := shown(); n == 0 || n >= all || n > 4 {
			t.Errorf("the base moves %d cells of %d", n, all)
		}
		set(b, "#by", "")
		set(b, "#map", "spark")
		if got := b.text(`.maps [aria-pressed=true]`); !strings.HasPrefix(got, "spark") {
			t.Errorf("the map shown is %q", got)
		}
		set(b, "#map", "")
		set(b, "#least", "50")
		if n := shown(); n == 0 || n > 4 {
			t.Errorf("%d cells change by a half", n)
		}
		set(b, "#find", "nobody")
		if n := count(); n != 0 || ask[bool](b, `document.querySelector(".main").getBoundingClientRect().height > 0`) {
			t.Errorf("%d tunes are called nobody", n)
		}
		b.click("#clear")
		if n := count(); n != 192 {
			t.Errorf("%d tunes are left when all is cleared", n)
		}
	})

	t.Run("keyboard", func(t *testing.T) {
		b := open(t, desk)
		b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(".heat.live td[tabindex='0']").focus()`))
		at := func() string { return b.text(".cell-head b") }
		before := at()
		for _, step := range []struct{ keys, want string }{
			{kb.ArrowRight, "rpm 11000"}, {kb.ArrowUp, "throttle 50 %"}, {kb.End, "rpm 14000"}, {kb.ArrowRight, "rpm 14000"}, {kb.Home, "rpm 1500"}, {kb.ArrowDown, "throttle 60 %"},
		} {
			b.do(chromedp.KeyEvent(step.keys))
			if got := at(); !strings.Contains(got, step.want) {
				t.Errorf("from %s the keys led to %s, and not to %s", before, got, step.want)
			}
			before = at()
		}
		if n := ask[int](b, `document.querySelectorAll(".heat.live td[tabindex='0']").length`); n != 1 {
			t.Errorf("%d cells are stops of the tab key", n)
		}
		seen := ask[string](b, `(() => { const c = document.querySelector("canvas"); c.focus(); return c.toDataURL(); })()`)
		b.do(chromedp.KeyEvent(kb.ArrowLeft))
		if ask[string](b, `document.querySelector("canvas").toDataURL()`) == seen {
			t.Error("the surface doesn't turn")
		}
	})

	t.Run("the sheets of a map", func(t *testing.T) {
		b := open(t, desk)
		choose(b, "bench")
		for _, c := range []struct{ key, want string }{{"change", "-11.29"}, {"share", "-90.0"}, {"before", "12.55"}, {"after", "1.26"}} {
			b.click(`.sheets [data-value=` + c.key + `]`)
			if got := b.text(`.heat.live tbody tr:nth-child(13) td:nth-child(16)`); got != c.want {
				t.Errorf("%s is %q, not %q", c.key, got, c.want)
			}
		}
		if got := ask[string](b, `[...document.querySelectorAll(".heat.live [scope]")].map((e) => e.scope).join("")`); strings.Count(got, "col") != 23 || strings.Count(got, "row") != 16 {
			t.Errorf("the table's heads are %s", got)
		}
		if n := ask[int](b, `document.querySelectorAll(".plots svg .line").length`); n != 4 {
			t.Errorf("%d lines in the slices", n)
		}
	})

	t.Run("widths and colours", func(t *testing.T) {
		for _, s := range []screen{desk, {width: 360, height: 740}, {width: 1280, height: 900, dark: true}, {width: 360, height: 740, dark: true}} {
			b := open(t, s)
			b.click(".jump")
			if n := ask[float64](b, `document.documentElement.scrollWidth`); n > float64(s.width) {
				t.Errorf("the page is %v wide on a screen of %d", n, s.width)
			}
			for _, key := range []string{"share", "before", "after"} {
				b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.sheets [data-value=` + key + `]').click()`))
				if got := ask[[]string](b, contrasts); len(got) > 0 {
					t.Errorf("%+v, %s: too little contrast: %s", s, key, strings.Join(got, "; "))
				}
			}
			b.shot(fmt.Sprintf("cell-%d-%v", s.width, s.dark))
		}
	})

	t.Run("paper", func(t *testing.T) {
		b := open(t, screen{width: 1000, height: 700, paper: true})
		b.do(chromedp.Evaluate[chromedp.Void](`window.dispatchEvent(new Event("beforeprint"))`))
		seen := func(selector string) int {
			return ask[int](b, `[...document.querySelectorAll(`+quoted(selector)+`)].filter((e) => e.getBoundingClientRect().height > 0).length`)
		}
		for selector, want := range map[string]bool{".static .heat": true, ".cautions": true, ".names": true, ".alarm": true, "#limits table": true, "#explore": false, ".jump": false} {
			if (seen(selector) > 0) != want {
				t.Errorf("on paper %s is there %d times", selector, seen(selector))
			}
		}
		if n := ask[float64](b, `document.documentElement.scrollWidth`); n > 1000 {
			t.Errorf("%v wide on a paper of 1000", n)
		}
		b.shot("paper-whole")
	})

	t.Run("without a script", func(t *testing.T) {
		b := open(t, screen{width: 1280, height: 900, noScript: true})
		seen := ask[string](b, `[".static .heat", "noscript p", "#explore", ".jump"].map((s) => [...document.querySelectorAll(s)].some((e) => e.getBoundingClientRect().height > 0)).join()`)
		if seen != "true,true,false,false" {
			t.Errorf("tables, a word on the script, the explorer, its buttons: %s", seen)
		}
		b.shot("plain-whole")
	})
}

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

// within allows changes up to a share.
type within float64

func (w within) Within(_ string, old, new float64) bool {
	return math.Abs(new-old) <= float64(w)*math.Abs(old)+0.25
}

// contrasts lists the texts whose colour is too near to what is behind them.
const contrasts = `(() => {
  const parse = (c) => { const m = c.match(/[\d.]+/g).map(Number); return { rgb: m.slice(0, 3), a: m.length > 3 ? m[3] : 1 }; };
  const lum = (rgb) => { const [r, g, b] = rgb.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const out = new Map();
  for (const e of document.querySelectorAll("body *")) {
    if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()) || e.getBoundingClientRect().height === 0 || e.closest("svg, script, noscript, option")) continue;
    let back = e, colour;
    do { colour = parse(getComputedStyle(back).backgroundColor); back = back.parentElement; } while (colour.a === 0 && back);
    const [x, y] = [lum(parse(getComputedStyle(e).color).rgb), lum(colour.rgb)];
    const ratio = (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
    if (ratio < 4.5) out.set(e.tagName + "." + e.className, ratio.toFixed(2));
  }
  return [...out].map((x) => x.join(" "));
})()`

// choose picks a tune in the list.
func choose(b *tab, tune string) {
	b.t.Helper()
	if !ask[bool](b, `(() => { const l = document.querySelector("#tunes"); const o = [...l.options].find((o) => o.textContent.endsWith(" " + `+quoted(tune)+`)); if (!o) return false; l.value = o.value; l.dispatchEvent(new Event("change")); return true; })()`) {
		b.t.Fatalf("%s isn't listed", tune)
	}
}

// set fills in a part of the form.
func set(b *tab, selector, value string) {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](`(() => { const e = document.querySelector(` + quoted(selector) + `); e.value = ` + quoted(value) + `; e.dispatchEvent(new Event("input", { bubbles: true })); })()`))
}
