package review

import (
	"fmt"
	"strings"
	"testing"
)

// What differs in a line is told by characters, cell by cell; a line that was
// written anew isn't marked.
func TestMarks(t *testing.T) {
	for _, c := range []struct {
		lines []string
		want  string // what is marked, a line each
	}{
		{[]string{" 40,1,2,3", "-60,6.10,12.55,13.25", "+60,6.10,1.255,13.25"}, "|12.55|1.255"},
		{[]string{"-60,6.10,,13.25", "+60,6.10,1.2,13.25"}, ",|1.2"},
		{[]string{"-60,6.10,", "+60,6.10,7"}, "|7"},
		{[]string{"-20,1,2,3", "-30,4,5,6", "+20,1,2,4", "+30,4,9,6"}, "3|5|4|9"},
		{[]string{"-20,1,2,3", "-30,4,5,6", "+30,4,9,6"}, "|5|9"},
		{[]string{"-  spark += 0.5 deg over hit", "+  spark += 0.6 deg over hit"}, "0.5|0.6"},
		{[]string{"-  50 | 1.5 2.5 3.5 4.5 5.5", "+  50 | 1.5 2.5 3.6 4.5 5.5"}, "3.5|3.6"},
		{[]string{"-a b c", "+x y c"}, "|"},
		{[]string{"-a,b,c", "+a,b,c,d"}, "|"},
		{[]string{"-a,b,c", `\ No newline at end of file`, "+a,b,d"}, "c||d"},
		{[]string{"-é,\x1b[31m,3", "+é,\x1b[31m,4"}, "3|4"},
		{[]string{"+a,b,c", "-a,b,d"}, "|"},
		{[]string{"", "\\ x", " "}, "||"},
	} {
		h := &Hunk{Lines: c.lines}
		var got []string
		for i, marks := range h.Marks() {
			text := ""
			for _, m := range marks {
				text += string(append([]rune(shownLine(c.lines[i])), ' ')[m[0]:max(m[1], m[0])])
			}
			got = append(got, text)
		}
		if s := strings.Join(got, "|"); s != c.want {
			t.Errorf("%q: %q is marked, not %q", c.lines, s, c.want)
		}
	}
}

// A row of a table has a line under it that points at the cell; nothing else has.
func TestCarets(t *testing.T) {
	under := func(old, new string) string {
		h := &Hunk{Lines: []string{old, new}}
		return carets(shownLine(new), h.Marks()[1])
	}
	if got := under("-60,6.10,6.30,6.60,12.55", "+60,6.10,6.30,6.60,1.255"); got != "                   ^^^^^" {
		t.Errorf("%q", got)
	}
	if got := under("-60,1,2,3,4,5,6", "+60,1,9,3,4,77,6"); got != "      ^     ^^" {
		t.Errorf("%q", got)
	}
	if got := under("-  spark += 0.5 deg", "+  spark += 0.6 deg"); got != "" {
		t.Errorf("%q", got)
	}
}

// Where colours are on, what differs in a line is underlined; without them the
// line is as it is.
func TestShade(t *testing.T) {
	marks := [][2]int{{3, 4}}
	plain := &textWriter{}
	if got := plain.shade("+1,2", marks); got != "+1,2" {
		t.Errorf("%q", got)
	}
	colored := &textWriter{}
	colored.opt.Color = true
	if got := colored.shade("+1,2", marks); got != look+"+1,\x1b[1;4m2"+off+look+off {
		t.Errorf("%q", got)
	}
	if got := colored.shade(" 1,2", nil); got != " 1,2" {
		t.Errorf("%q", got)
	}
}

func TestCausesAreShort(t *testing.T) {
	long := func(amount string) string {
		return "fuel " + amount + " over throttle 60..100, rpm 9000..12000 feather 500 when pipe is long and head is club"
	}
	for in, want := range map[string]string{
		"fuel += 3 % (was 1 %)": "fuel += 3 % (was 1 %)",
		long("-= 12 %"):         "fuel -= 12 % over throttle 60..100, … when pipe is long and head is club",
		long("-= 12 %") + " (was " + long("+= 2 %") + ")":                 "fuel -= 12 % over throttle 60..100, rpm … (was fuel += 2 % over throttle 60..100, rpm …)",
		"+2 % (was " + long("-= 12 %") + ")":                              "+2 % (was fuel -= 12 % over throttle 60..100, rpm 9000..12000 feather 500 when pipe …)",
		long("+= 1 %") + " or wet (was " + long("+= 1 %") + ")":           "… pipe is long and head is club or wet (was … 500 when pipe is long and head is club)",
		"fuel += 1 %,\n  when wet # so far (was fuel += 1 %\n when\tdry)": "fuel += 1 %, when wet # so far (was fuel += 1 % when dry)",
	} {
		got := clipMiddle(in)
		if len([]rune(got)) > mostWhy+len(" (was )")+8 {
			t.Errorf("%q is %d characters", got, len([]rune(got)))
		}
		if fmt.Sprint(got) != want {
			t.Errorf("%q: %q", in, got)
		}
	}
}
