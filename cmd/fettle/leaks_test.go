package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// What others wrote (comments, titles, cells of text, names of files, revisions and
// authors) is shown by every command, and must not command the terminal that it is
// shown on, turn the direction of reading, or be taken for markup or a formula.

// commands holds what terminals obey, and what moves the letters around it.
const commands = "\x1b[31m\x1b]0;title\x07\u009b2J\u202e\u2066\u2028\x7f"

// markup is allowed in a source, and is to be letters wherever it is shown.
const markup = `<script>alert(1)</script><img src=x onerror=alert(1)> [x](javascript:y) | a * b _c_ ~~d~~ @SUM(1) =cmd|'/c calc'!A1 ]]> --> */ {{x}} ${x} %s %n`

// leak finds a character that a terminal obeys or hides.
func leak(s string) string {
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		bad := r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0 || r == 0x061c || r == 0x200e || r == 0x200f ||
			r >= 0x2028 && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == utf8.RuneError && n == 1
		if bad {
			return fmt.Sprintf("%U in %q", r, s[max(0, i-60):min(len(s), i+40)])
		}
		i += n
	}
	return ""
}

var codeSpans = regexp.MustCompile("`[^`\n]*`")

func TestNothingLeaks(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git here")
	}
	top := t.TempDir()
	dir := filepath.Join(top, "ws"+strings.ReplaceAll(commands, "/", "")+"<b>")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Skip("no such folder names here: ", err)
	}
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	text := func(fuel string) string {
		return "# " + markup + "\naxis rpm [rpm] 1000..9000\n# " + markup + "\ngiven ratio = 32\ngiven pipe from pipes = stock\ncatalog pipes from \"pipes.csv\"\n" +
			"# " + markup + "\nmap fuel [mg] to 0.01 {\n  rpm | 1000 9000 # " + markup + "\n      | 1 " + fuel + "\n}\nlet k = pipes.stock.tuned\n" +
			"# " + markup + "\nrule a when k > 1 { fuel *= ratio / 32 # " + markup + "\n}\n# " + markup + "\nlimit l: fuel <= 20 mg else warn\n" +
			"check \"" + markup + "\" with bench { fuel(1000 rpm) == 1 mg +- 900 % }\ncaution \"" + markup + "\"\n" +
			"# " + markup + "\nvariant bench { ratio = 33 }\nvariants v { pipe = stock, long }\n# " + markup + "\ntarget ecu {\n  table fuel = fuel as u16 step 0.01 mg\n}\n"
	}
	write("tune.fettle", text("2"))
	write("pipes.csv", "name,note [text],tuned\nstock,\""+commands+markup+"\",9400\nlong,=1+1,8600\n")
	strange := "t" + commands + ".csv"
	write(strange, "rpm,1000,9000\n,1,2\n")
	write("import.csv", "\"fuel"+commands+markup+" [mg]\";;\nrpm;1000;9000\n;1"+commands+";2\n")
	write("stray"+commands+".fettle", "")
	who := commands + "Å <b>Tuner</b>"
	git := func(args ...string) {
		t.Helper()
		c := exec.Command("git", args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_SYSTEM="+os.DevNull, "GIT_AUTHOR_NAME="+who, "GIT_AUTHOR_EMAIL=a"+commands+"@tussock.invalid", "GIT_COMMITTER_NAME="+who, "GIT_COMMITTER_EMAIL=a@tussock.invalid")
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("git %q: %v\n%s", args, err, out)
		}
	}
	git("init", "-q")
	git("add", ".")
	git("commit", "-q", "-m", commands+markup)
	tag := "r\u202e\u2066\u009b31m<b>"
	git("tag", tag)
	write("tune.fettle", text("3"))
	git("commit", "-qam", "two\n\n"+commands)
	write("tune.fettle", text("4"))
	t.Setenv("GIT_CONFIG_GLOBAL", os.DevNull)
	t.Setenv("GIT_CONFIG_SYSTEM", os.DevNull)
	t.Chdir(dir)

	for _, args := range [][]string{
		{"check"}, {"check", "--json"}, {"list"}, {"list", "--json"}, {"show", "bench"}, {"show", "bench", "fuel", "--json"}, {"why", "bench", "fuel", "rpm=9000"}, {"why", "bench", "fuel", "rpm=9000", "--json"},
		{"diff"}, {"diff", "--md"}, {"diff", "--json"}, {"diff", tag}, {"diff", tag, "--json"}, {"diff", tag, "--md"}, {"diff", tag + ":bench", ":bench"}, {"diff", "nothing" + commands}, {"diff", strange, "bench"},
		{"log", "bench", "fuel", "rpm=9000"}, {"log", "bench", "fuel", "rpm=9000", "--json"}, {"verify", strange}, {"verify", strange, "--json"}, {"verify", "none" + commands}, {"verify", "out"},
		{"import", "import.csv"}, {"import", "import.csv", "--json"}, {"import", "--as", "map", "import.csv"}, {"import", strange}, {"import", "none" + commands + ".csv"}, {"eval", "1 +" + commands}, {"eval", "--json", commands}, {"doc", "air"}, {"doc", commands}, {"codes"}, {"codes", commands}, {"codes", "--json"},
		{"list", "--where", "altitude" + commands}, {"show", "x" + commands}, {"show", "bench", "y" + commands}, {"why", "bench", "fuel", "rpm=" + commands}, {commands}, {"list", "--flag" + commands}, {"-C", "nowhere" + commands, "list"},
		{"fmt", "none" + commands}, {"fmt", "--check"}, {"merge", "none" + commands, "b", "c"}, {"build", "-o", "no/such/" + commands}, {"build", "--format", "csv,tsv,json,xlsx,c,bin"}, {"build", "--json"}, {"git", "text", "tune.fettle"}, {"git", "text", "pipes.csv"}, {"git", "setup", "--check"}, {"check", "--target", "e" + commands}, {"build", "--format", commands}, {"review", "-o", "page.html"}, {"version"},
	} {
		var out, errs bytes.Buffer
		run(args, strings.NewReader(""), &out, &errs)
		for stream, said := range map[string]string{"stdout": out.String(), "stderr": errs.String()} {
			if at := leak(said); at != "" {
				t.Errorf("fettle %q: %s has %s", args, stream, at)
			}
		}
		for _, a := range args {
			if a == "--json" && out.Len() > 0 && !json.Valid(out.Bytes()) {
				t.Errorf("fettle %q: no JSON:\n%.300s", args, out.String())
			}
			if a == "--md" {
				letters := codeSpans.ReplaceAllString(out.String(), "") // what stands in them is letters
				for _, raw := range []string{"<script", "<img", "<b>", "](javascript"} {
					if strings.Contains(letters, raw) {
						t.Errorf("fettle %q: %q in\n%.2000s", args, raw, out.String())
					}
				}
			}
		}
	}
	page, err := os.ReadFile("page.html")
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range []string{"<script>alert", "<img src=x", "<b>Tuner"} {
		if i := bytes.Index(page, []byte(raw)); i >= 0 {
			t.Errorf("the page has %q: %.300q", raw, page[max(0, i-200):])
		}
	}
	if at := leak(string(page)); at != "" {
		t.Errorf("the page has %s", at)
	}
	written := 0
	err = filepath.WalkDir("out", func(name string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasSuffix(name, ".bin") || strings.HasSuffix(name, ".xlsx") {
			return err
		}
		data, err := os.ReadFile(name)
		if at := leak(string(data)); at != "" {
			t.Errorf("%s has %s", name, at)
		}
		ext := filepath.Ext(name)
		if ext == ".csv" || ext == ".tsv" {
			for _, cell := range strings.FieldsFunc(string(data), func(r rune) bool { return r == ',' || r == '\t' || r == '\n' }) {
				if strings.ContainsAny(cell[:1], "=+@") {
					t.Errorf("%s has the formula %q", name, cell)
				}
			}
		}
		written++
		return err
	})
	if err != nil || written < 10 {
		t.Errorf("%d files were looked at: %v", written, err)
	}
}
