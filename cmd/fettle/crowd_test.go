//go:build unix

package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// twoSites are two sources that are built into one folder, and the two outputs.
func twoSites(t *testing.T, make func(testing.TB, string) *site) (sites [2]*site, outputs [2]snapshot) {
	out := filepath.Join(memory(t), "out")
	for i := range sites {
		sites[i] = make(t, out)
		sites[i].prepare(work{value: i})
		mustRun(t, sites[i].args(work{}, out)...)
		outputs[i] = mustBeWhole(t, out)
	}
	if outputs[0].differs(outputs[1]) == "" {
		t.Fatal("the two are the same")
	}
	return sites, outputs
}

// Several builds into one folder at once: each does it all, or says that another is
// at work and does nothing.
func TestBuildsAtOnce(t *testing.T) {
	sites, outputs := twoSites(t, firstSite)
	out := sites[0].out
	done, refused := 0, 0
	for range 6 {
		var wg sync.WaitGroup
		var codes [4]int
		var said [4]string
		for i := range codes {
			wg.Go(func() { codes[i], said[i] = fettle(t, sites[i%2].args(work{}, out)...) })
		}
		wg.Wait()
		any := false
		for i, code := range codes {
			switch {
			case code == exitOK:
				done++
				any = true
			case code == exitWrong && strings.Contains(said[i], "is being written by another build: wait until it is done"):
				refused++
			default:
				t.Fatalf("%d\n%s", code, said[i])
			}
		}
		if !any {
			t.Error("every build waits for another")
		}
		is := mustBeWhole(t, out)
		if is.differs(outputs[0]) != "" && is.differs(outputs[1]) != "" {
			t.Fatalf("the output is neither: %s; %s", outputs[0].differs(is), outputs[1].differs(is))
		}
		if others, litter := besides(t, out); len(others)+len(litter) > 0 {
			t.Fatalf("there is %q and %q", others, litter)
		}
	}
	t.Logf("%d builds at once: %d wrote, %d were refused", done+refused, done, refused)
}

// A build that is interrupted says so, leaves the old output, and nothing beside it.
func TestInterruptedBuilds(t *testing.T) {
	sites, outputs := twoSites(t, manySite(150))
	out, r := sites[0].out, rand.New(rand.NewPCG(8, 0))
	start := time.Now()
	mustRun(t, sites[0].args(work{}, out)...)
	took, now := time.Since(start), 0
	interrupted := 0
	for i := range 20 {
		next := 1 - now
		cmd := exec.Command("fettle", sites[next].args(work{}, out)...)
		var said bytes.Buffer
		cmd.Stdout, cmd.Stderr = &said, &said
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(r.Float64() * float64(took)))
		sig := []os.Signal{os.Interrupt, syscall.SIGTERM}[i%2]
		_ = cmd.Process.Signal(sig) // it may have ended
		_ = cmd.Wait()
		st := cmd.ProcessState.Sys().(syscall.WaitStatus)
		is := mustBeWhole(t, out)
		switch {
		case st.Signaled(): // before it watches for signals, or after it has ended its work
		case cmd.ProcessState.ExitCode() == exitWrong:
			if want := "fettle: interrupted; " + shown(out) + " is as it was\n"; said.String() != want {
				t.Fatalf("%q, want %q", said.String(), want)
			}
			if d := outputs[now].differs(is); d != "" {
				t.Fatalf("interrupted, and the output is another: %s", d)
			}
			interrupted++
		case cmd.ProcessState.ExitCode() != exitOK:
			t.Fatalf("%d\n%s", cmd.ProcessState.ExitCode(), said.String())
		}
		if is.differs(outputs[next]) == "" {
			now = next
		} else if d := outputs[now].differs(is); d != "" {
			t.Fatal(d)
		}
		if others, litter := besides(t, out); len(others)+len(litter) > 0 {
			t.Fatalf("%v leaves %q and %q", sig, others, litter)
		}
	}
	if interrupted == 0 {
		t.Error("none was interrupted while it worked")
	}
	t.Logf("%d of 20 builds were interrupted before they had done", interrupted)
}
