package page_test

import (
	"context"
	"encoding/json"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// patience is how long a browser may take for one step.
const patience = 60 * time.Second

// browser starts a headless Chromium for a test. Where there is none the test is
// skipped, except where everything has to run.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") != "" {
			t.Fatal("no chromium on the PATH, and CI runs every test: install Debian's package chromium")
		}
		t.Skip("no chromium on the PATH: the page isn't tried in a browser")
	}
	flags := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir())}
	for _, name := range []string{"disable-gpu", "disable-quic", "disable-background-networking", "disable-component-update", "disable-sync", "disable-dev-shm-usage", "no-default-browser-check"} {
		flags = append(flags, chromedp.Flag(name, true))
	}
	parent, stop := chromedp.NewExecAllocator(context.Background(), flags...)
	ctx, cancel := chromedp.NewContext(parent)
	t.Cleanup(func() { cancel(); stop() })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// tab is a page that is open, with what went wrong in it and what it asked for.
type tab struct {
	t        *testing.T
	ctx      context.Context
	mu       sync.Mutex
	troubles []string
	requests []string
}

// screen is what a page is shown on.
type screen struct {
	width, height int64
	dark, paper   bool
	noScript      bool
}

var desk = screen{width: 1280, height: 900}

// openPage writes a page to a file and opens that. When the test is over it looks
// that nothing went wrong, and that nothing but the file was asked for.
func openPage(t *testing.T, parent context.Context, html []byte, s screen) *tab {
	t.Helper()
	file := filepath.Join(t.TempDir(), "review.html")
	if err := os.WriteFile(file, html, 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(parent)
	b := &tab{t: t, ctx: ctx}
	must(t, chromedp.Listen(ctx, b.hear))
	_, err := chromedp.Run(ctx, func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		for _, step := range []func() error{
			func() error { return call(ctx, target, log.Enable, cdp.Empty{}) },
			func() error { return call(ctx, target, network.Enable, network.EnableParams{}) },
			func() error { return call(ctx, target, runtime.Enable, cdp.Empty{}) },
			func() error {
				return call(ctx, target, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.width, Height: s.height, DeviceScaleFactor: 1, Mobile: s.width < 600})
			},
			func() error {
				return call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: s.noScript})
			},
		} {
			if err := step(); err != nil {
				return chromedp.Void{}, err
			}
		}
		return chromedp.Void{}, nil
	})
	must(t, err)
	b.media(s)
	address := (&url.URL{Scheme: "file", Path: file}).String()
	b.do(chromedp.Navigate(address))
	if !s.noScript && strings.Contains(string(html), `id="data"`) {
		b.until(`document.documentElement.classList.contains("shown") || !document.getElementById("trouble").hidden`)
	}
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, x := range b.troubles {
			t.Errorf("the browser says: %s", x)
		}
		for _, x := range b.requests {
			if x != address {
				t.Errorf("the page asked for %s", x)
			}
		}
		if len(b.requests) != 1 {
			t.Errorf("%d requests, and the page is one file", len(b.requests))
		}
		cancel()
	})
	return b
}

func call[P, R any](ctx context.Context, target *chromedp.Target, c cdp.Command[P, R], params P) error {
	_, err := cdp.Call(ctx, target, c, params)
	return err
}

// hear notes what a page complains of and asks for.
func (b *tab) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		text, _ := json.Marshal(e.Args)
		b.troubles = append(b.troubles, "console "+string(e.Type)+": "+string(text))
	case *runtime.EventExceptionThrown:
		text, _ := json.Marshal(e.ExceptionDetails)
		b.troubles = append(b.troubles, "exception: "+string(text))
	case *log.EventEntryAdded:
		b.troubles = append(b.troubles, "log: "+e.Entry.Text)
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	must(b.t, chromedp.Do(ctx, steps...))
}

// media chooses light or dark, screen or paper.
func (b *tab) media(s screen) {
	b.t.Helper()
	scheme, medium := "light", ""
	if s.dark {
		scheme = "dark"
	}
	if s.paper {
		medium = "print"
	}
	_, err := chromedp.Run(b.ctx, func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		return chromedp.Void{}, call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	})
	must(b.t, err)
}

// ask evaluates an expression in the page.
func ask[T any](b *tab, expression string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression to become true.
func (b *tab) until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if ask[bool](b, expression) {
			return
		}
	}
	b.t.Fatalf("%s never became true", expression)
}

// text is what an element says, with its white space folded.
func (b *tab) text(selector string) string {
	b.t.Helper()
	return strings.Join(strings.Fields(ask[string](b, `(document.querySelector(`+quoted(selector)+`) || {textContent: "(none)"}).textContent`)), " ")
}

// click clicks in the middle of an element, as a mouse does.
func (b *tab) click(selector string) {
	b.t.Helper()
	at := ask[[]float64](b, `(() => { const e = document.querySelector(`+quoted(selector)+`); e.scrollIntoView({block: "center", inline: "center", behavior: "instant"}); const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	b.do(chromedp.MouseClickXY(at[0], at[1]))
}

// shot writes what is seen to a file, for people to look at, where one is named
// by the environment.
func (b *tab) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("FETTLE_SHOTS")
	if dir == "" {
		return
	}
	whole := strings.HasSuffix(name, "-whole")
	png, err := chromedp.Run(b.ctx, func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
		if err := call(ctx, target, page.BringToFront, cdp.Empty{}); err != nil {
			return nil, err
		}
		r, err := cdp.Call(ctx, target, page.CaptureScreenshot, page.CaptureScreenshotParams{CaptureBeyondViewport: &whole})
		return r.Data, err
	})
	must(b.t, err)
	must(b.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

func quoted(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}
