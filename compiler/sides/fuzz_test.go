package sides_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fettle/compiler/sides"
	"fettle/lang/diag"
)

const small = "axis rpm [rpm] 1000..9000\nmap fuel [mg] {\n  rpm | 1000 9000\n      | 1 2\n}\nvariant bench { }\nvariant hill { }\n"

// FuzzOperand takes any texts as what diff and review are asked to compare: two
// sides, or an error of one line; and git never takes one for an option.
func FuzzOperand(f *testing.F) {
	for _, text := range []string{"", "bench", "HEAD", "HEAD:bench", ":bench", "bench..hill", "./out", "../..", "/", "--output=x", "-h", "HEAD:--help", "a:b:c", "main~1", "@{u}", "*", "b*", "\x00", "a\nb", "HEAD^{/x}", ".csv", "x.csv"} {
		f.Add(text, "")
		f.Add(text, "bench")
	}
	dir := f.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "tune.fettle"), []byte(small), 0o666); err != nil {
		f.Fatal(err)
	}
	for _, args := range [][]string{{"init", "-q"}, {"add", "."}, {"-c", "user.name=Tussock Tuner", "-c", "user.email=tuner@tussock.invalid", "commit", "-q", "-m", "one"}} {
		c := exec.Command("git", args...)
		c.Dir = dir
		if out, err := c.CombinedOutput(); err != nil {
			f.Skipf("git: %s", out)
		}
	}
	f.Chdir(dir)
	f.Fuzz(func(t *testing.T, first, second string) {
		if len(first)+len(second) > 1000 || filepath.IsAbs(first) || filepath.IsAbs(second) || strings.Contains(first+second, "..") {
			return // folders of this machine
		}
		names := []string{first}
		if second != "" {
			names = append(names, second)
		}
		find := &sides.Finder{Dir: dir, Version: "test"}
		defer find.Close()
		old, new, err := find.Pair(names)
		switch {
		case err == nil && (old == nil || new == nil):
			t.Fatalf("%q: neither sides nor an error", names)
		case err != nil && diag.Clean(err.Error()) == "":
			t.Fatalf("%q: an error without a word", names)
		}
		if left, _ := os.ReadDir(dir); len(left) != 2 {
			t.Fatalf("%q: left behind %v", names, left)
		}
	})
}
