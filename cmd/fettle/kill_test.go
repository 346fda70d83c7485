//go:build unix

package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"fettle/testdata/bench/workload"
)

var (
	kills  = flag.Int("kills", 24, "how many builds are killed by TestKilledBuilds")
	onDisk = flag.Bool("kills.disk", false, "kill builds on the disk of the temporary folder, and not in memory")
)

// memory is a folder in memory, where there is one: a disk that is waited for makes
// each build a hundred times longer, and a killed process loses nothing on either.
func memory(t testing.TB) string {
	t.Helper()
	if *onDisk {
		return t.TempDir()
	}
	dir, err := os.MkdirTemp("/dev/shm", "fettle-test-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// site is a workspace with an output that builds are killed over.
type site struct {
	t        testing.TB
	dir, out string
	file     string   // is edited
	plain    string   // its text
	value    []string // two texts for one number: another one changes every table
	pattern  string   // a tune, to be built alone
	formats  []string
	copied   bool // a build's outcome is tried beforehand on a copy, whatever it keeps
	known    map[string]snapshot
	took     map[string]time.Duration
}

// firstSite is examples/first, with every tune holding.
func firstSite(t testing.TB, out string) *site {
	t.Helper()
	return exampleSite("first", "tune.fettle", []string{"+= 12 %", "+= 11 %"}, "")(t, out)
}

// manySite is a workspace of many tunes.
func manySite(n int) func(t testing.TB, out string) *site {
	return func(t testing.TB, out string) *site {
		t.Helper()
		s := &site{t: t, dir: filepath.Join(memory(t), "ws"), out: out, file: "tune.fettle", value: []string{"fuel += 4 % over hit", "fuel += 5 % over hit"}, formats: []string{"csv"}}
		if err := os.CopyFS(s.dir, workload.Files(n)); err != nil {
			t.Fatal(err)
		}
		s.read()
		s.prepare(work{})
		return s
	}
}

// exampleSite is one of the examples, whose builds are tried on copies.
func exampleSite(name, file string, value []string, pattern string, formats ...string) func(t testing.TB, out string) *site {
	return func(t testing.TB, out string) *site {
		t.Helper()
		s := &site{t: t, dir: filepath.Join(memory(t), "ws"), out: out, file: file, value: value, pattern: pattern, formats: formats, copied: true}
		if err := os.CopyFS(s.dir, os.DirFS("../../examples/"+name)); err != nil {
			t.Fatal(err)
		}
		s.read()
		s.prepare(work{})
		return s
	}
}

// read takes the source as it stands.
func (s *site) read() {
	text, err := os.ReadFile(filepath.Join(s.dir, s.file))
	if err != nil || !strings.Contains(string(text), s.value[0]) {
		s.t.Fatalf("%v: %q isn't in %s", err, s.value[0], s.file)
	}
	s.plain = string(text)
}

// work is one build: what its source is, and how it is called.
type work struct {
	edit  string
	value int
	args  []string
}

func (w work) String() string { return fmt.Sprint(w.edit, w.value, w.args) }

// prepare puts the source in its state.
func (s *site) prepare(w work) {
	text := strings.Replace(s.plain, s.value[0], s.value[w.value], 1) + w.edit
	if err := os.WriteFile(filepath.Join(s.dir, s.file), []byte(text), 0o666); err != nil {
		s.t.Fatal(err)
	}
}

func (s *site) args(w work, out string) []string {
	return append([]string{"-C", s.dir, "build", "-o", out}, w.args...)
}

// expect is what a build makes of the output that is there, and how long it takes.
func (s *site) expect(w work) (snapshot, time.Duration) {
	whole := w.args == nil || strings.HasPrefix(w.args[0], "--")
	if whole && s.known[w.String()] != nil {
		return s.known[w.String()], s.took[w.String()]
	}
	copy := filepath.Join(memory(s.t), "out")
	if err := os.CopyFS(copy, os.DirFS(s.out)); err != nil {
		s.t.Fatal(err)
	}
	start := time.Now()
	s.build(s.args(w, copy)...)
	took := time.Since(start)
	after := mustBeWhole(s.t, copy)
	if err := os.RemoveAll(copy); err != nil {
		s.t.Fatal(err)
	}
	if whole {
		s.known[w.String()], s.took[w.String()] = after, took
	}
	return after, took
}

// build runs a build to its end; a tune may fail.
func (s *site) build(args ...string) {
	if code, said := fettle(s.t, args...); code == exitWrong {
		s.t.Fatal(said)
	}
}

// kill starts a build and kills it after a while. False if it had ended before.
func (s *site) kill(w work, after time.Duration) bool {
	cmd := exec.Command("fettle", s.args(w, s.out)...)
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	time.Sleep(after)
	_ = cmd.Process.Kill() // it may have ended
	_ = cmd.Wait()
	return cmd.ProcessState.Sys().(syscall.WaitStatus).Signaled()
}

// another chooses a build: nothing changes, or only what every tune.json says of its
// source, so that the tables are linked, or all tables; other formats; one tune.
func (s *site) another(r *rand.Rand, last work) work {
	w := work{edit: last.edit, value: last.value}
	switch r.IntN(6) {
	case 0: // nothing
		w.args = last.args
	case 1:
		w.edit = fmt.Sprintf("# edit %d\n", r.IntN(2))
	case 2, 3:
		w.value = 1 - w.value
	case 4:
		w.args = []string{"--format", s.formats[r.IntN(len(s.formats))]}
	case 5:
		if s.copied {
			w.value, w.args = 1-w.value, []string{s.pattern}
		} else {
			w.value = 1 - w.value
		}
	}
	return w
}

// toll is how many builds were killed, and what they left.
type toll struct{ old, new, either, beside int }

// killed kills builds at random moments until n were hit while they ran.
func (s *site) killed(r *rand.Rand, n int) (out toll) {
	s.known, s.took = map[string]snapshot{}, map[string]time.Duration{}
	last := work{}
	s.prepare(last)
	s.build(s.args(last, s.out)...)
	for done := 0; done < n; {
		before := mustBeWhole(s.t, s.out)
		w := s.another(r, last)
		s.prepare(w)
		after, took := s.expect(w)
		// Every other one comes late, when the output is exchanged and the old one removed.
		from := 0.8 * float64(done%2)
		moment := time.Duration((from + (1.1-from)*r.Float64()) * float64(took))
		hit := s.kill(w, moment)
		what := fmt.Sprintf("kill %d, %v into %v of %v", done, moment, took, w)
		is := mustBeWhole(s.t, s.out)
		isOld, isNew := is.differs(before) == "", is.differs(after) == ""
		switch {
		case !hit && isNew:
			last = w
		case isOld && isNew:
			last = w
			out.either++
		case isNew:
			last = w
			out.new++
		case isOld && hit:
			out.old++
		default:
			s.t.Fatalf("%s: the output is neither the old one (%s) nor the new one (%s)", what, before.differs(is), after.differs(is))
		}
		others, litter := besides(s.t, s.out)
		if len(others) > 0 || !hit && len(litter) > 0 {
			s.t.Fatalf("%s: beside the output there is %q and %q", what, others, litter)
		}
		if hit {
			done++
			if len(litter) > 0 {
				out.beside++
			}
		}
		if r.IntN(3) == 0 {
			continue // what is left piles up
		}
		s.build(s.args(w, s.out)...)
		last = w
		if is := mustBeWhole(s.t, s.out); is.differs(after) != "" {
			s.t.Fatalf("%s: the next build: %s", what, after.differs(is))
		}
		if others, litter := besides(s.t, s.out); len(others)+len(litter) > 0 {
			s.t.Fatalf("%s: after the next build there is %q and %q", what, others, litter)
		}
	}
	return out
}

// TestKilledBuilds kills builds over an existing output at random moments. Each time
// the old output is there or the new one, whole; what is beside it the next build
// clears away; and that build works.
func TestKilledBuilds(t *testing.T) {
	for i, c := range []struct {
		name  string
		share int // of the kills, in quarters
		make  func(t testing.TB, out string) *site
	}{
		// At 13.1 mg the check of home fails, and it isn't written.
		{"first", 2, exampleSite("first", "tune.fettle", []string{"13.20", "13.10"}, "hill", "csv,xlsx", "csv,tsv,json", "csv,c,bin")},
		{"tussock", 1, exampleSite("tussock", "weather.fettle", []string{"fuel += 4 %", "fuel += 3 %"}, "season/stock*", "csv,json")},
		{"many", 1, manySite(1000)},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.name != "first" {
				t.Skip("short")
			}
			n := max(1, *kills*c.share/4)
			got := c.make(t, filepath.Join(memory(t), "out")).killed(rand.New(rand.NewPCG(7, uint64(i))), n)
			t.Logf("%d builds killed: %d left the old output, %d the new one, %d one that was both; %d something beside it that the next one cleared away", n, got.old, got.new, got.either, got.beside)
		})
	}
}
