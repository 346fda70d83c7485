package page_test

import (
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fettle/compiler/page"
	"fettle/compiler/review"
)

func TestDev(t *testing.T) {
	out := os.Getenv("PAGE_OUT")
	if out == "" {
		t.Skip("dev")
	}
	t0 := time.Now()
	edits := []edit{typo, loosened}
	if os.Getenv("PAGE_ALL") != "" {
		edits = append(edits, newRule)
	}
	r := compared(t, "tussock", os.Getenv("PAGE_PATTERN"), review.Options{}, edits...)
	t1 := time.Now()
	b, err := page.Write(r, page.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Log("review", t1.Sub(t0), "page", time.Since(t1), "bytes", len(b), "entries", len(r.Entries), "groups", len(r.Groups), "limits", len(r.Limits), "spikes", len(r.Spikes))
	os.WriteFile(out, b, 0o644)
}

func TestShots(t *testing.T) {
	in := os.Getenv("PAGE_IN")
	if in == "" {
		t.Skip("dev")
	}
	html, err := os.ReadFile(in)
	if err != nil {
		t.Fatal(err)
	}
	ctx := browser(t)
	b := openPage(t, ctx, html, desk)
	b.shot("desk")
	b.shot("desk-whole")
	b.click(".jump")
	time.Sleep(700 * time.Millisecond)
	b.shot("cell")
	p := openPage(t, ctx, html, screen{width: 360, height: 740})
	p.shot("phone")
	t.Log("phone width", ask[float64](p, "document.documentElement.scrollWidth"))
	p.shot("phone-whole")
	p.click(".jump")
	time.Sleep(700 * time.Millisecond)
	p.shot("phone-cell")
	d := openPage(t, ctx, html, screen{width: 1280, height: 900, dark: true})
	d.shot("dark")
	d.click(".jump")
	time.Sleep(700 * time.Millisecond)
	d.shot("dark-cell")
	n := openPage(t, ctx, html, screen{width: 1280, height: 900, noScript: true})
	n.shot("plain-whole")
	r := openPage(t, ctx, html, screen{width: 1100, height: 900, paper: true})
	r.shot("paper-whole")
}

func TestPDF(t *testing.T) {
	in := os.Getenv("PDF_IN")
	if in == "" {
		t.Skip("dev")
	}
	html, _ := os.ReadFile(in)
	ctx := browser(t)
	b := openPage(t, ctx, html, desk)
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	must(t, err)
	must(t, os.WriteFile("/tmp/shots/page.pdf", pdf, 0o644))
}
