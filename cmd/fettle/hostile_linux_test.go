package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Sources and tables that were made to fill a machine, or to keep it busy for
// ever, are refused with the bound that they pass and its value, or are answered.
// Each runs in a process that may have 512 MiB of memory and not a byte more; the
// clock that is set for it is only reached by what never ends.

const (
	hostileMemory = 512 << 20
	hostileHang   = 5 * time.Minute
)

type attack struct {
	name   string
	files  map[string]string
	args   []string // fettle check, without
	status int
	want   string // stands in what is said
}

const hostileHead = `axis throttle [%] 0..100
axis rpm [rpm] 1000..14000
given altitude [m] = 0 within -500..4500
map fuel [mg] {
  throttle \ rpm | 3000 9000
  0              |  1.1  1.2
  100            |  8.2 15.1
}
variant bench { }
`

func again(n int, form string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.NewReplacer("#+", fmt.Sprint(i+1), "#", fmt.Sprint(i)).Replace(form))
	}
	return b.String()
}

// steps are breakpoints of rpm, each behind a separator; rows lines of throttle.
func steps(n int, sep string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%s%d", sep, 1000+i)
	}
	return b.String()
}

func rows(n int, cells string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%g%s\n", float64(i)/128, cells)
	}
	return b.String()
}

func counted(n int, sep string) string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprint(i)
	}
	return strings.Join(out, sep)
}

func sourceOf(lines string) map[string]string {
	return map[string]string{"tune.fettle": hostileHead + lines}
}

// doubling functions: each calls the one before it twice.
func doubling(n int) string {
	return "fn f0(x [rpm]) [rpm] = x + x\n" + again(n, "fn f#+(x [rpm]) [rpm] = f#(x) + f#(x + 1 rpm)\n")
}

func givens(n int) string { return again(n, "given g# = 0 within 0..20\n") }

func matrix(name string, settings int) string {
	return "variants " + name + " {\n" + again(settings, "  g# = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9\n") + "}\n"
}

func hostileSources() []attack {
	top := strings.Split(hostileHead, "map")[0]
	long := func(n int, s string) string { return strings.Repeat(s, n/len(s)) }
	return []attack{
		{"functions that double, 12 deep, are answered", sourceOf(doubling(12) + "rule a { fuel += 1 mg * f12(rpm) / (1 rpm) }\n"), nil, 0, "1 tune"},
		{"functions that double, 40 deep", sourceOf(doubling(40) + "rule a { fuel += 1 mg * f40(rpm) / (1 rpm) }\n"), nil, 2, "E301: with its functions written out this expression has over 200000 steps"},
		{"much of functions that double", sourceOf(doubling(11) + again(3000, "rule r# { fuel += 1 mg * f11(rpm) / (1 rpm) }\n")), nil, 2, "E410: with their functions written out, the expressions up to here have over 1000000 steps together"},
		{"values that double", sourceOf("let l0 = altitude + altitude\n" + again(60, "let l#+ = l# + l#\n")), nil, 2, "over 200000 steps"},
		{"values in a row", sourceOf(again(50_000, "let l# = l#+\n") + "let l50000 = altitude\n"), nil, 2, "E410: values and functions need each other in a row of over 1000"},
		{"values in a row, the other way round", sourceOf("let l0 = altitude\n" + again(50_000, "let l#+ = l#\n")), nil, 2, "E410: values and functions need each other in a row of over 1000"},
		{"functions in a row", sourceOf(again(50_000, "fn l#(x) = l#+(x)\n") + "fn l50000(x) = x\n"), nil, 2, "in a row of over 1000"},
		{"variants in a row", sourceOf(again(50_000, "variant v# from v#+ { altitude = 1 m }\n") + "variant v50000 { }\n"), nil, 2, "E410: variants come from each other in a row of over 1000"},
		{"maps in a row", sourceOf(again(20_000, "map m# [mg] like m#+ = m#+\n") + "map m20000 [mg] like fuel = fuel\n"), nil, 0, "1 tune"},
		{"maps in a circle", sourceOf(again(20_000, "map m# [mg] like m#+ = m#+\n") + "map m20000 [mg] like m0 = m0\n"), nil, 2, "E601"},
		{"a matrix of 10^9", sourceOf(givens(9) + matrix("v", 9)), nil, 2, "E815: matrix `v` spans more than 100000 combinations"},
		{"many matrices", sourceOf(givens(4) + again(300, matrix("v#", 4))), nil, 2, "the workspace span more than 100000 combinations"},
		{"an endless list of excepts", sourceOf(givens(4) + "variants v {\n" + again(4, "  g# = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9\n") + again(20_000, "  except g0 > #+.5 and g1 > 10\n") + "}\n"), nil, 2, "E410: to tell the workspace's combinations and patterns apart takes over 100000000 steps"},
		{"patterns against tunes", sourceOf(givens(4) + matrix("v", 4) + again(5000, "check \"c#\" with q*#* { fuel(0 %, 3000 rpm) > 0 mg }\n")), nil, 2, "E410: to tell the workspace's combinations and patterns apart"},
		{"10^11 cells in all tunes", map[string]string{"tune.fettle": top + givens(5) + "map fuel [mg] from \"a.csv\"\n" + matrix("v", 5),
			"a.csv": "throttle \\ rpm" + steps(500, ",") + "\n" + rows(500, strings.Repeat(",1", 500))}, nil, 2, "and the most that are computed is 5000000000"},
		{"a grid of 4*10^6 cells", map[string]string{"tune.fettle": top + "map fuel [mg] {\n throttle \\ rpm | " + steps(2000, " ") + "\n" + rows(2000, " |"+strings.Repeat(" 1", 2000)) + "}\nvariant bench { }\n"}, nil, 2, "E603: `fuel` has 4000000 cells; the most is 1000000"},
		{"a grid of 10^8 cells, its rows cut short", map[string]string{"tune.fettle": top + "map fuel [mg] {\n throttle \\ rpm | " + steps(10_000, " ") + "\n" + rows(10_000, " | 1") + "}\nvariant bench { }\n"}, nil, 2, "E204"},
		{"many large maps", map[string]string{"tune.fettle": top + "map fuel [mg] {\n throttle \\ rpm | " + steps(900, " ") + "\n" + rows(900, " |"+strings.Repeat(" 1", 900)) + "}\n" + again(2000, "map m# [mg] like fuel = fuel\n") + "variant bench { }\n"}, nil, 2, "the maps of the workspace have over 8000000 cells together"},
		{"a CSV table of 10^8 cells, its lines cut short", map[string]string{"tune.fettle": top + "map fuel [mg] from \"a.csv\"\nvariant bench { }\n", "a.csv": "throttle \\ rpm," + counted(10_000, ",") + "\n" + again(10_000, "#,1\n")}, nil, 2, "E213"},
		{"a CSV table of commas", map[string]string{"tune.fettle": top + "map fuel [mg] from \"a.csv\"\nvariant bench { }\n", "a.csv": "rpm" + long(9_000_000, ",") + "\n"}, nil, 2, "the file has 9000001 cells, and the most is 2000000"},
		{"a CSV table of quotes", map[string]string{"tune.fettle": top + "map fuel [mg] from \"a.csv\"\nvariant bench { }\n", "a.csv": "rpm" + long(9_000_000, `,""`) + "\n"}, nil, 2, "E213"},
		{"a huge CSV table", map[string]string{"tune.fettle": top + "map fuel [mg] from \"a.csv\"\nvariant bench { }\n", "a.csv": long(12_000_000, "1,")}, nil, 2, "has 12000000 bytes; the most that is read is 10485760"},
		{"many large CSV tables", manyTables(top), nil, 2, "the texts of the workspace have over 67108864 bytes together"},
		{"a huge source", sourceOf(long(12_000_000, "# x\n")), nil, 2, "the most that is read is 10485760"},
		{"a line of 9 MB", sourceOf("let a = " + long(9_000_000, "1") + "\n"), nil, 2, "E410: this line has 9000008 bytes; the most is 1048576"},
		{"a name of 1 MB", sourceOf("let " + long(1_000_000, "a") + " = 1\n"), nil, 2, "E410: this name has 1000000 bytes; the most is 200"},
		{"a number of 1 MB", sourceOf("let a = " + long(1_000_000, "1") + "\n"), nil, 2, "E410: this number has 1000000 bytes; the most is 1000"},
		{"a text of 1 MB", sourceOf("caution \"" + long(1_000_000, "a") + "\"\n"), nil, 2, "the most is 10000"},
		{"a file's name of 1 MB", map[string]string{"tune.fettle": "use \"" + long(900_000, "a/") + "b.fettle\"\n" + hostileHead}, nil, 2, "E410"},
		{"an expression of 4 MB", sourceOf("let a = (1" + long(4_000_000, "\n+1") + ")\n"), nil, 2, "E410: the file has over 1000000 words and signs"},
		{"an expression of 1 MB", sourceOf("let a = (1" + long(1_000_000, "\n+1") + ")\n"), nil, 2, "words and signs; the most is 5000"},
		{"100,000 parentheses", sourceOf("let a = " + long(100_000, "(") + "1" + long(100_000, ")") + "\n"), nil, 2, "E301: this expression has 200001 words and signs; the most is 5000"},
		{"2,000 parentheses", sourceOf("let a = " + long(2_000, "(") + "1" + long(2_000, ")") + "\n"), nil, 2, "E301: parentheses are nested over 100 deep here"},
		{"parentheses that never close", sourceOf("let a = " + long(900_000, "(") + "\n"), nil, 2, "E103"},
		{"braces that never close", sourceOf("rule a " + long(900_000, "{") + "\n"), nil, 2, "E103"},
		{"brackets that never close", sourceOf("let a = " + long(900_000, "1 [") + "\n"), nil, 2, "E103"},
		{"100,000 errors", sourceOf(again(100_000, "let a# = b#\n")), nil, 2, "E410: this is number 20000 of what is said of this workspace, and the most that is kept"},
		{"300,000 errors", sourceOf(again(300_000, "let a# = b#\n")), nil, 2, "E410: the file has over 1000000 words and signs"},
		{"100,000 errors on one line", sourceOf(long(900_000, "£ ") + "\n"), nil, 2, "E107"},
		{"the same as JSON", sourceOf(long(900_000, "£ ") + "\n"), []string{"check", "--json"}, 2, ""},
		{"misspelt names", sourceOf(again(20_000, "let a_name_that_is_long_# = 1\n") + again(20_000, "let b# = a_nome_that_is_long_#\n")), nil, 2, "E316"},
		{"circles of maps", sourceOf("map m0 [mg] like fuel = m2999\n" + again(3000, "map m#+ [mg] like fuel = m# + m0\n")), nil, 2, "E607"},
		{"conflicts of a merge", sourceOf(long(3_000_000, "<<<<<<< a\n=======\n>>>>>>> b\n")), nil, 2, "E111"},
		{"a source that uses itself", map[string]string{"tune.fettle": "use \"tune.fettle\"\n" + hostileHead}, nil, 2, "E404: files use each other in a circle"},
		{"a circle of sources", map[string]string{"tune.fettle": "use \"a.fettle\"\n" + hostileHead, "a.fettle": "use \"b.fettle\"\n", "b.fettle": "use \"a.fettle\"\n"}, nil, 2, "a.fettle uses b.fettle uses a.fettle"},
		{"sources deep in one another", deepSources(300), nil, 2, "E410: from here on the files are over 100 deep"},
		{"100,000 sources that aren't there", map[string]string{"tune.fettle": again(100_000, "use \"f#.fettle\"\n") + hostileHead}, nil, 2, "or over 1000 in all, the most that are read"},
		{"many of everything", sourceOf(again(5000, "region r# = rpm 1000..2000 feather 50\nrule u# { fuel += 1 % over r# }\nlimit l#: fuel <= 10# mg\ntarget t# {\n  table fuel = fuel as u16 step 0.01 mg\n}\n")), []string{"list"}, 0, ""},
		{"a large catalogue", sourceOf("catalog c {\n  name | x\n" + again(200_000, "  r# | #\n") + "}\ngiven k from c = r1\nlet z = k.x\n"), nil, 0, "1 tune"},
		{"a wide catalogue", sourceOf("catalog c {\n  name" + again(50_000, " | c#") + "\n  r" + strings.Repeat(" | 1", 50_000) + "\n}\n"), nil, 0, "1 tune"},
		{"bytes that are no text", sourceOf("# \xff\xfe\n"), nil, 2, `"tune.fettle" is not UTF-8 text`},
		{"bytes of zero", sourceOf("let a\x00b = 1\n# \x00\n"), nil, 2, "E107: a character that can't be seen stands here: U+0000"},
		{"letters that look alike", sourceOf("let f\u0430st = 1\n"), nil, 2, "has letters outside a to z"},
		{"letters without ink", sourceOf("let fa\u200bst = 1\n"), nil, 2, "U+200B"},
		{"a comment that turns the direction of reading", sourceOf("# \u202e } ; limit\n"), nil, 2, "E107"},
		{"a text that turns the direction of reading", sourceOf("caution \"\u2066a\"\n"), nil, 2, "E107"},
		{"a comment that a terminal would obey", sourceOf("# \x1b]0;x\x07\n"), nil, 2, "E107"},
		{"a name out of the workspace", map[string]string{"ws/tune.fettle": "use \"../a.fettle\"\n" + hostileHead, "a.fettle": ""}, []string{"-C", "ws", "check"}, 2, "leads out of the workspace"},
		{"a name from the root", map[string]string{"tune.fettle": "use \"/etc/hostname\"\n" + hostileHead}, nil, 2, "leads out of the workspace"},
		{"a workbook that unpacks to much", map[string]string{"a.xlsx": bomb(20, 60<<20, false)}, []string{"import", "a.xlsx"}, 2, "E901"},
		{"a workbook that says it is small", map[string]string{"a.xlsx": bomb(1, 400<<20, true)}, []string{"import", "a.xlsx"}, 2, "E901"},
		{"a workbook of many parts", map[string]string{"a.xlsx": bomb(60_000, 0, false)}, []string{"import", "a.xlsx"}, 2, "E901"},
		{"a workbook with a far cell", map[string]string{"a.xlsx": sheetOf(`<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>`, "")}, []string{"import", "a.xlsx"}, 2, "over 1000000 cells"},
		{"a workbook of a million texts", map[string]string{"a.xlsx": sheetOf(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`, strings.Repeat("<si><t/></si>", 2_000_000))}, []string{"import", "a.xlsx"}, 2, "E901"},
		{"a workbook of a million cells", map[string]string{"a.xlsx": sheetOf(strings.Repeat(`<row><c><v>1</v></c></row>`, 1_048_576), "")}, []string{"import", "a.xlsx"}, 2, "E901"},
		{"the same, read back", map[string]string{"tune.fettle": hostileHead, "a.xlsx": sheetOf(strings.Repeat(`<row><c><v>1</v></c></row>`, 1_048_576), "")}, []string{"verify", "a.xlsx"}, 2, ""},
		{"a table of separators to import", map[string]string{"a.csv": long(9_000_000, ";")}, []string{"import", "a.csv"}, 2, "E901"},
		{"a merge of long texts", map[string]string{"a.fettle": sourceOf(again(60_000, "let a# = 1\n"))["tune.fettle"], "b.fettle": sourceOf(again(60_000, "let a# = 2\n"))["tune.fettle"], "c.fettle": sourceOf(again(60_000, "let a# = 3\n"))["tune.fettle"]}, []string{"merge", "a.fettle", "b.fettle", "c.fettle"}, 1, "conflicts"},
		{"a layout of what is refused", map[string]string{"a.fettle": "let a = (1" + long(4_000_000, "\n+1") + ")\n"}, []string{"fmt", "a.fettle"}, 2, "E410"},
	}
}

func manyTables(top string) map[string]string {
	out := map[string]string{}
	var b strings.Builder
	for i := range 10 {
		name := fmt.Sprintf("t%d.csv", i)
		out[name] = "rpm," + strings.Repeat("1", 8<<20) + "\n,1\n"
		fmt.Fprintf(&b, "map m%d [mg] from %q\n", i, name)
	}
	out["tune.fettle"] = top + b.String() + "variant bench { }\n"
	return out
}

func deepSources(n int) map[string]string {
	out := map[string]string{"tune.fettle": "use \"f0.fettle\"\n" + hostileHead}
	for i := range n {
		out[fmt.Sprintf("f%d.fettle", i)] = fmt.Sprintf("use \"f%d.fettle\"\n", i+1)
	}
	return out
}

// bomb makes a workbook with more parts than it needs; with lies, its directory
// says that they are small.
func bomb(parts, size int, lies bool) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	zero := make([]byte, 1<<20)
	for i := range parts {
		w, _ := z.Create(fmt.Sprintf("xl/media/part%d.xml", i))
		for range size >> 20 {
			w.Write(zero)
		}
	}
	for name, text := range plainParts("", "") {
		w, _ := z.Create(name)
		w.Write([]byte(text))
	}
	z.Close()
	out := b.Bytes()
	if lies {
		for at := 0; ; at += 4 {
			n := bytes.Index(out[at:], []byte("PK\x01\x02"))
			if n < 0 {
				break
			}
			at += n
			binary.LittleEndian.PutUint32(out[at+24:], 100)
		}
	}
	return string(out)
}

func plainParts(rows, shared string) map[string]string {
	const head, ns = `<?xml version="1.0"?>`, "http://schemas.openxmlformats.org/"
	return map[string]string{
		"[Content_Types].xml":        head + `<Types xmlns="` + ns + `package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/><Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>`,
		"_rels/.rels":                head + `<Relationships xmlns="` + ns + `package/2006/relationships"><Relationship Id="rId1" Type="` + ns + `officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            head + `<workbook xmlns="` + ns + `spreadsheetml/2006/main" xmlns:r="` + ns + `officeDocument/2006/relationships"><sheets><sheet name="Sheet1" sheetId="1" r:id="rId1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": head + `<Relationships xmlns="` + ns + `package/2006/relationships"><Relationship Id="rId1" Type="` + ns + `officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="` + ns + `officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/></Relationships>`,
		"xl/worksheets/sheet1.xml":   head + `<worksheet xmlns="` + ns + `spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData></worksheet>`,
		"xl/sharedStrings.xml":       head + `<sst xmlns="` + ns + `spreadsheetml/2006/main">` + shared + `</sst>`,
	}
}

func sheetOf(rows, shared string) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range plainParts(rows, shared) {
		w, _ := z.Create(name)
		w.Write([]byte(text))
	}
	z.Close()
	return b.String()
}

func TestHostile(t *testing.T) {
	if testing.Short() {
		t.Skip("minutes")
	}
	for _, c := range hostileSources() {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range c.files {
				full := filepath.Join(dir, name)
				if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(full, []byte(text), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			args := c.args
			if args == nil {
				args = []string{"check"}
			}
			status, said := confined(t, dir, args...)
			if status != c.status || !strings.Contains(said, c.want) {
				if len(said) > 2000 {
					said = said[:1000] + "\n…\n" + said[len(said)-1000:]
				}
				t.Errorf("status %d, want %d and %q in\n%s", status, c.status, c.want, said)
			}
		})
	}
}

// Files that never end, or wait for a writer, are refused by every reader.
func TestHostileFiles(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"tune.fettle": hostileHead, "ok.csv": "rpm,1000\n,1\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var files []string
	for _, ext := range []string{".csv", ".fettle", ".xlsx", ".json"} {
		if err := syscall.Mkfifo(filepath.Join(dir, "pipe"+ext), 0o666); err != nil {
			t.Skip("no pipes here: ", err)
		}
		if err := os.Symlink("/dev/zero", filepath.Join(dir, "zero"+ext)); err != nil {
			t.Fatal(err)
		}
		files = append(files, "pipe"+ext, "zero"+ext)
	}
	for _, f := range files {
		for _, args := range [][]string{{"fmt", f}, {"import", f}, {"verify", f}, {"diff", f, "ok.csv"}, {"diff", "ok.csv", f}, {"git", "text", f}, {"merge", f, "ok.csv", "ok.csv"}, {"merge", "ok.csv", "ok.csv", f}, {"review", f}} {
			if status, said := confined(t, dir, args...); status != exitWrong || said == "" {
				t.Errorf("fettle %s: status %d\n%.500s", strings.Join(args, " "), status, said)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, "tune.fettle"), []byte("use \""+f+"\"\n"+hostileHead+"map b [mg] from \""+f+"\"\ncatalog c from \""+f+"\"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
		if status, said := confined(t, dir, "check"); status != exitWrong || !strings.Contains(said, "E401") {
			t.Errorf("%s in a source: status %d\n%.500s", f, status, said)
		}
	}
}

// confined runs a command in a process that may take no more than hostileMemory.
func confined(t *testing.T, dir string, args ...string) (status int, said string) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), hostileHang)
	defer cancel()
	c := exec.CommandContext(ctx, exe, append([]string{"-test.run=^TestHostileChild$", "--"}, args...)...)
	c.Dir = dir
	c.Env = append(os.Environ(), "FETTLE_CONFINED=1", "GOMAXPROCS=2", fmt.Sprintf("GOMEMLIMIT=%d", hostileMemory*3/4))
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	err = c.Run()
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		t.Errorf("fettle %s: it never ends", strings.Join(args, " "))
	case errors.As(err, &exit):
		status = exit.ExitCode()
	case err != nil:
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "goroutine ") {
		t.Errorf("fettle %s fell over:\n%.2000s", strings.Join(args, " "), out.String())
	}
	return status, out.String()
}

func TestHostileChild(t *testing.T) {
	if os.Getenv("FETTLE_CONFINED") == "" {
		t.Skip("runs in a process of its own")
	}
	// What is written to, that is: what Go only sets aside isn't memory.
	if err := syscall.Setrlimit(syscall.RLIMIT_DATA, &syscall.Rlimit{Cur: hostileMemory, Max: hostileMemory}); err != nil {
		t.Fatal(err)
	}
	args := os.Args
	for args[0] != "--" {
		args = args[1:]
	}
	os.Exit(run(args[1:], os.Stdin, os.Stdout, os.Stderr))
}
