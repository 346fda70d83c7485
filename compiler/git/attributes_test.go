package git

import (
	"slices"
	"strings"
	"testing"
)

func TestSetLines(t *testing.T) {
	const ours = firstMark + "\n*.fettle x\n/a.csv x\n" + lastMark + "\n"
	const glued = gluedMark + "\n*.fettle x\n/a.csv x\n" + lastMark + "\n"
	const stale = firstMark + "\n/old.csv x\n" + lastMark + "\n"
	for _, c := range []struct{ name, before, after, without string }{
		{"nothing", "", ours, ""},
		{"lines of others", "*.png binary\n", "*.png binary\n" + ours, "*.png binary\n"},
		{"no line end", "*.png binary", "*.png binary\n" + glued, "*.png binary"},
		{"ours", ours, ours, ""},
		{"ours amid others", "a\n" + ours + "b\n", "a\n" + ours + "b\n", "a\nb\n"},
		{"ours of another day", "a\n" + stale + "b", "a\n" + ours + "b", "a\nb"},
		{"ours twice, as two branches leave it", stale + "a\n" + ours, ours + "a\n", "a\n"},
		{"lines with CR LF", "a\r\nb\r\n", "a\r\nb\r\n" + strings.ReplaceAll(ours, "\n", "\r\n"), "a\r\nb\r\n"},
		{"ours with CR LF", strings.ReplaceAll(ours, "\n", "\r\n"), strings.ReplaceAll(ours, "\n", "\r\n"), ""},
		{"no line end, CR LF", "a\r\nb", "a\r\nb\r\n" + strings.ReplaceAll(glued, "\n", "\r\n"), "a\r\nb"},
		{"a line end was added, and more since", "a\n" + glued + "b\n", "a\n" + glued + "b\n", "a\nb\n"},
		{"a byte-order mark", "\ufeff" + stale, "\ufeff" + ours, "\ufeff"},
		{"no line end at all", firstMark + "\n/old.csv x\n" + lastMark, ours, ""},
	} {
		lines := []string{"*.fettle x", "/a.csv x"}
		after, err := setLines(c.before, lines)
		if err != nil || after != c.after {
			t.Errorf("%s: %q, want %q (%v)", c.name, after, c.after, err)
		}
		without, err := setLines(after, nil)
		if err != nil || without != c.without {
			t.Errorf("%s: taken out %q, want %q (%v)", c.name, without, c.without, err)
		}
	}
	for _, broken := range []string{firstMark, "a\n" + firstMark + "\nb\n", lastMark + "\n", firstMark + "\n" + firstMark + "\n" + lastMark + "\n", ours + lastMark + "\n"} {
		if text, err := setLines(broken, []string{"x"}); err == nil || text != broken {
			t.Errorf("%q: %q %v", broken, text, err)
		}
	}
}

// A pattern matches the one file, as git reads it.
func TestPatternMatchesOneFile(t *testing.T) {
	names := []string{
		"a.csv", "sub/a.csv", "a b.csv", " a.csv", "a.csv ", "*.csv", "a?.csv", "ab.csv", "[ab].csv", "#a.csv", "!a.csv", `"a".csv`, `a"b c.csv`, "Füll.csv", "ü b.csv",
		"[attr]x", "-a.csv", "a\tb.csv", "a\nb.csv", "a\x01b.csv", "a\x7fb.csv", "a\rb.csv", "*", "**/a.csv", "sub[1]/a*.csv", "sub1/ax.csv", `a\b.csv`, `a\*.csv`, `a\ b.csv`,
	}
	w := newWorld(t)
	r := w.open(".")
	for _, name := range names {
		w.write(AttributesFile, Pattern(name)+" diff=it\n")
		for i, f := 0, strings.Split(mustAttr(t, r, names), "\x00"); len(f) >= 3; i, f = i+1, f[3:] {
			if (f[2] == "it") != (names[i] == name) {
				t.Errorf("%s for %q: %q is %s", Pattern(name), name, names[i], f[2])
			}
		}
	}
}

func mustAttr(t *testing.T, r *Repo, names []string) string {
	out, err := run(r.dir, strings.NewReader(strings.Join(names, "\x00")+"\x00"), "check-attr", "-z", "--stdin", "diff")
	if err != nil || strings.Count(out, "\x00") != 3*len(names) {
		t.Fatalf("%q %v", out, err)
	}
	return out
}

// Whatever stands in the file: all else is kept, setup twice is setup once, and
// taking out after setting up is taking out.
func FuzzSetLines(f *testing.F) {
	f.Add("*.png binary\n", "a.csv")
	f.Add("a\r\nb", "a b\n.csv")
	f.Add("\ufeff", "")
	f.Add(firstMark+"\n/a.csv x\n"+lastMark+"\nb", "[a].csv")
	f.Add("a\n"+gluedMark+"\r\n/a.csv x\r\n"+lastMark+"\r\n", "\"")
	f.Add("a\n"+gluedMark+"\n"+lastMark+"\n"+firstMark+"\n"+lastMark, "c")
	f.Fuzz(func(t *testing.T, text, name string) {
		lines := []string{"*.fettle x", Pattern(name) + " x"}
		if strings.ContainsAny(lines[1], "\n\r") || !strings.HasPrefix(strings.Trim(lines[1], `"`), "/") {
			t.Fatalf("%q", lines[1])
		}
		out, err := setLines(text, nil)
		once, err2 := setLines(text, lines)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%v, %v", err, err2)
		}
		if err != nil {
			if out != text || once != text {
				t.Fatalf("changed in spite of %v", err)
			}
			return
		}
		if !strings.Contains(text, "# fettle git setup") && out != text {
			t.Fatalf("nothing of ours in %q, yet %q", text, out)
		}
		if twice, err := setLines(once, lines); err != nil || twice != once {
			t.Fatalf("from %q\nonce  %q\ntwice %q (%v)", text, once, twice, err)
		}
		if back, err := setLines(once, nil); err != nil || back != out {
			t.Fatalf("from %q\nset   %q\nout   %q\nwant  %q (%v)", text, once, back, out, err)
		}
		b, err := blocks(once)
		if err != nil || len(b) != 1 || !slices.Equal(b[0].lines, lines) {
			t.Fatalf("%q has %v (%v)", once, b, err)
		}
		if others := once[:b[0].from] + once[b[0].to:]; strings.TrimRight(others, "\r\n") != strings.TrimRight(out, "\r\n") {
			t.Fatalf("from %q\nset    %q\nothers %q\nwant   %q", text, once, others, out)
		}
	})
}
