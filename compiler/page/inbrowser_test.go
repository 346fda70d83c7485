package page_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
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
			want := []string{"limit upper_comes_in newly fails", "limit pump was loosened to pump_flow <= 300 [g/min]", "fuel at throttle 60 %, rpm 10500: 10.70 → 1.07 mg"}
			if s.width < 600 {
				want = want[:1] // the rest is counted in the line above
			}
			for _, want := range want {
				if !strings.Contains(seen, want) {
					t.Errorf("at %d by %d nobody sees %q before scrolling, but:\n%s", s.width, s.height, want, seen)
				}
			}
			if got := b.text(".lead"); !strings.Contains(got, "newly fail") || !strings.Contains(got, "1 limit asks less") || !strings.Contains(got, "1 cell sticks out") || !onScreen(b, ".lead") {
				t.Errorf("at %d by %d what there is to look at is told as %q", s.width, s.height, got)
			}
			if tall := ask[float64](b, `document.querySelector(".cautions").getBoundingClientRect().height`); !onScreen(b, ".cautions") || tall > 60 {
				t.Errorf("at %d by %d the cautions take %v", s.width, s.height, tall)
			}
			b.click(".cautions summary")
			if !ask[bool](b, `(() => { const e = document.querySelector(".cautions summary"); return e.scrollHeight <= e.clientHeight + 1; })()`) {
				t.Error("the cautions aren't whole when they are opened")
			}
		}
	})

	t.Run("alarms of a kind stand together", func(t *testing.T) {
		b := open(t, desk)
		var kinds []string
		for _, word := range ask[[]string](b, `[...document.querySelectorAll(".alarm .badge")].map((e) => e.textContent)`) {
			if len(kinds) == 0 || kinds[len(kinds)-1] != word {
				kinds = append(kinds, word)
			}
		}
		if got := strings.Join(kinds, ", "); !strings.HasPrefix(got, "Fails, Asks less, Sticks out") || strings.Count(got, "Fails") != 1 {
			t.Errorf("the alarms are in the order %s", got)
		}
	})

	t.Run("what differs in a line", func(t *testing.T) {
		b := open(t, desk)
		got := ask[[]string](b, `[...document.querySelectorAll(".hunk mark")].map((e) => e.textContent)`)
		for _, want := range []string{"12.55", "1.255", "240", "300"} {
			if !slices.Contains(got, want) {
				t.Errorf("%s isn't marked in the source, but %q", want, got)
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
			if seen := ask[bool](b, headsSeen); !seen {
				t.Errorf("%+v: the heads of the cell's row and column aren't seen", s)
			}
			if part := ask[float64](b, `document.querySelector(".cell").offsetHeight / innerHeight`); s.width < 600 && part > 0.34 {
				t.Errorf("the cell's panel takes %v of a small screen", part)
			}
			if !ask[bool](b, `[...document.querySelector("#tunes").options].every((o) => o.title && o.textContent.endsWith(o.title) && o.scrollWidth <= o.clientWidth + 1)`) {
				t.Errorf("%+v: names of tunes are cut", s)
			}
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
		if size := ask[string](b, `getComputedStyle(document.querySelector(".names")).fontSize`); size != "8.66667px" {
			t.Errorf("names of tunes are printed at %s", size)
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

// headsSeen looks that the picked cell and the heads of its row and its column are
// on the screen, above the panel.
const headsSeen = `(() => {
  const cell = document.querySelector(".heat.live .at"), r = cell.getBoundingClientRect();
  const top = document.querySelector(".cell").getBoundingClientRect().top;
  const heads = [document.querySelector(".heat.live thead").rows[0].cells[cell.cellIndex], cell.parentElement.cells[0]].map((e) => e.getBoundingClientRect());
  return [r, ...heads].every((x) => x.top >= 0 && x.bottom <= top && x.left >= 0 && x.right <= innerWidth) && heads[0].bottom <= r.top + 1 && Math.abs(heads[0].left - r.left) < 2;
})()`

func onScreen(b *tab, selector string) bool {
	b.t.Helper()
	return ask[bool](b, `(() => { const r = document.querySelector(`+quoted(selector)+`).getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight && r.height > 0; })()`)
}

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
