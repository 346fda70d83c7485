package page_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"regexp"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/page"
	"fettle/compiler/review"
	"fettle/lang/source"
)

func written(t testing.TB, r *review.Review, opt page.Options) string {
	t.Helper()
	b, err := page.Write(r, opt)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestSameReviewSameBytes(t *testing.T) {
	one := written(t, compared(t, "tussock", "season/*-pump98-*", review.Options{Workers: 1}, typo, newRule), page.Options{})
	two := written(t, compared(t, "tussock", "season/*-pump98-*", review.Options{Workers: 4}, typo, newRule), page.Options{})
	if one != two {
		t.Error("the same comparison gave other bytes")
	}
}

var (
	stylePart  = regexp.MustCompile(`(?s)<style>(.*?)</style>`)
	scriptPart = regexp.MustCompile(`(?s)<script>(.*?)</script>`)
	policyPart = regexp.MustCompile(`<meta http-equiv="Content-Security-Policy" content="([^"]*)">`)
	dataPart   = regexp.MustCompile(`(?s)<script id="data" type="([^"]*)">.*?</script>`)
)

// The policy lets in the page's own style and script by their digests, and
// nothing in the page asks for anything else.
func TestContentPolicy(t *testing.T) {
	html := written(t, compared(t, "tussock", "season/stock-*", review.Options{}, typo, loosened), page.Options{})
	policy := policyPart.FindStringSubmatch(html)
	if policy == nil {
		t.Fatal("no policy")
	}
	for _, part := range []struct {
		name string
		re   *regexp.Regexp
	}{{"style-src", stylePart}, {"script-src", scriptPart}} {
		found := part.re.FindAllStringSubmatch(html, -1)
		if len(found) != 1 {
			t.Fatalf("%d of %s", len(found), part.name)
		}
		sum := sha256.Sum256([]byte(found[0][1]))
		want := part.name + " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "';"
		if !strings.Contains(policy[1], want) {
			t.Errorf("the policy is %s, without %s", policy[1], want)
		}
	}
	if !strings.HasPrefix(policy[1], "default-src 'none'; ") || strings.Contains(policy[1], "unsafe") {
		t.Errorf("the policy is %s", policy[1])
	}
	if strings.Index(html, policy[0]) > strings.Index(html, "<style>") {
		t.Error("the policy stands behind what it rules")
	}
	rest := stylePart.ReplaceAllString(scriptPart.ReplaceAllString(dataPart.ReplaceAllString(html, ""), ""), "")
	for _, re := range []string{`(?i)<[^>]* on[a-z]+\s*=`, `(?i)<[^>]* style\s*=`, `(?i)<[^>]* src\s*=`, `(?i)<[^>]* href\s*=\s*"[^#]`, `(?i)<(link|img|iframe|object|embed|form|base|video|audio)\b`, `(?i)<meta[^>]*refresh`} {
		if m := regexp.MustCompile(re).FindString(rest); m != "" {
			t.Errorf("the page holds %q", m)
		}
	}
	for _, s := range []string{"http:", "https:", "url(", "@import", "//www", "import(", "fetch(", "XMLHttp", "WebSocket", "eval(", "innerHTML", "document.write"} {
		if strings.Contains(html, s) {
			t.Errorf("the page holds %q", s)
		}
	}
}

// nasty is a text that tries all that a text in a page could.
const nasty = `</script><script>window.pwned=1</script><img src=x onerror="window.pwned=2">--><!--'"&amp;{{.}}${1}\u2028` + "\u2028"

// hostile is a review of a source that is full of it.
func hostile(t testing.TB) *review.Review {
	t.Helper()
	oneLine := strings.ReplaceAll(nasty, "\u2028", "")
	text := func(amount, limit string) source.Memory {
		quoted := strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(oneLine)
		return source.Memory{"a<b>'\"&.fettle": "# none\n", "tune.fettle": `use "sub<x>.fettle"
caution "` + quoted + `"
axis rpm [rpm] 1000..9000
map fuel [mg] to 0.01 {
  rpm | 2000 4000 6000 8000
      |    1    2    3    4
}
# ` + oneLine + `
rule richer {
  fuel += ` + amount + `  # ` + oneLine + `
}
limit most: fuel <= ` + limit + `
variant bench { }
check "` + quoted + `" with bench {
  fuel(2000 rpm) == 1.01 mg
}
`, "sub<x>.fettle": "# " + oneLine + amount + "\n"}
	}
	old, new := open(t, text("1 %", "5 mg")), open(t, text("9 %", "4.2 mg"))
	r, err := compiler.Review(old.Side(review.Origin{Title: nasty, Kind: review.KindRevision, Operand: nasty, Revision: nasty, Compiler: nasty}, ""),
		new.Side(review.Origin{Title: nasty, Kind: review.KindWorkTree, Compiler: nasty}, ""), review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r.Notes = append(r.Notes, nasty)
	r.Hidden.From, r.Hidden.Policy = nasty, []string{nasty}
	return r
}

// What a source says stays text.
func TestHostileSource(t *testing.T) {
	r := hostile(t)
	if len(r.Entries) == 0 || len(r.Limits) == 0 || len(r.Sources) == 0 || len(r.Elements) == 0 {
		t.Fatalf("the review tells too little to try: %+v", r)
	}
	html := written(t, r, page.Options{Call: nasty})
	if n := strings.Count(html, "<script"); n != 2 {
		t.Errorf("%d scripts", n)
	}
	if n := strings.Count(html, "</script"); n != 2 {
		t.Errorf("%d ends of scripts", n)
	}
	if n := strings.Count(html, "<meta"); n != 5 {
		t.Errorf("%d meta elements", n)
	}
	for _, s := range []string{"<img", "<!--", "\u2028", "window.pwned=1</script>"} {
		if strings.Contains(html, s) {
			t.Errorf("the page holds %q", s)
		}
	}
	if !strings.Contains(html, "&lt;img src=x onerror=") || !strings.Contains(html, `\u003cimg src=x`) {
		t.Error("the text isn't told at all")
	}
}

// A change of all tunes in most of their maps fits, with every chain.
func TestSize(t *testing.T) {
	r, html := whole(t)
	if r.Counts.Differ < 190 {
		t.Fatalf("only %d tunes differ", r.Counts.Differ)
	}
	t.Logf("%d bytes for %d tunes, %d cells", len(html), r.Counts.Differ, r.Counts.Cells)
	if len(html) > 2_000_000 {
		t.Errorf("%d bytes", len(html))
	}
	if strings.Contains(html, "keep this page small") {
		t.Error("something was left out")
	}
}

// What doesn't fit goes by the tunes that change least: chains first, then tables.
func TestFit(t *testing.T) {
	r := compared(t, "tussock", "season/*-club-*", review.Options{}, newRule)
	whole := len(written(t, r, page.Options{}))
	for _, c := range []struct {
		share float64
		says  []string
		not   string
	}{
		{0.99, []string{"the chains of the ", " tunes that change least", "`fettle why` tells them"}, "the tables of the"},
		{0.8, []string{"the tables of the ", "`fettle diff` shows them"}, "<iframe"},
		{0.01, []string{"the tables of the 80 tunes", "No limit"}, `<script id="data"`},
	} {
		most := int(c.share * float64(whole))
		html := written(t, r, page.Options{MaxBytes: most})
		t.Logf("%d bytes where %d are allowed, of %d", len(html), most, whole)
		if len(html) > most && c.share > 0.1 {
			t.Errorf("%d bytes where %d are allowed", len(html), most)
		}
		for _, s := range c.says {
			if !strings.Contains(html, s) {
				t.Errorf("with %d bytes the page doesn't say %q", most, s)
			}
		}
		if strings.Contains(html, c.not) {
			t.Errorf("with %d bytes the page holds %q", most, c.not)
		}
	}
}

// What has to be read first stands first, and in words.
func TestSummary(t *testing.T) {
	html := written(t, compared(t, "tussock", "", review.Options{}, typo, loosened), page.Options{})
	first := -1
	for _, want := range []string{
		"192 of 192 tunes change", "HEAD~1 (3f2c1d0a)", "the work tree", "Invented demonstration numbers",
		"Look at these first", "limit upper_comes_in newly fails in ", "limit pump was loosened to ", "fuel at throttle 60 %, rpm 10500: ", "(-90.0 %) in 192 tunes",
		"What changes", "tunes compared", "by", "base of fuel",
		"Limits and margins", "pump_flow &lt;= 240 [g/min] → pump_flow &lt;= 300 [g/min]",
		"What changed in the source", "12.55 → 1.255", "moves cells as base of fuel",
		"How this was made", "3f2c1d0a5b6c7d8e9f00112233445566778899aa, with edits that aren&#39;t committed",
	} {
		at := strings.Index(html[first+1:], want)
		if at < 0 {
			t.Fatalf("%q isn't there after what stands before it", want)
		}
		first += 1 + at
	}
}

func TestNothingChanged(t *testing.T) {
	html := written(t, compared(t, "first", "", review.Options{}), page.Options{})
	for _, want := range []string{"Nothing to stop at", "Same text, same tables", "No limit’s verdict"} {
		if !strings.Contains(strings.ReplaceAll(html, "limit's", "limit’s"), want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	if strings.Contains(html, "<script") {
		t.Error("a script with nothing to show")
	}
	if !bytes.Contains([]byte(html), []byte("script-src 'sha256-")) {
		t.Error("no policy for scripts")
	}
}
