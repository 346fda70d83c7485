package form

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/emit"
	"fettle/compiler/table"
)

var strict = []string{"-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wsign-conversion", "-Wunused-const-variable=2", "-Werror"}

// gcc compiles C sources in a folder, without a warning.
func gcc(t testing.TB, dir string, args ...string) {
	t.Helper()
	if _, err := exec.LookPath("gcc"); err != nil {
		t.Skip("gcc isn't here, so headers can't be compiled: install it to run this test")
	}
	cmd := exec.Command("gcc", append(append([]string{}, strict...), args...)...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("gcc %v: %v\n%s", args, err, out)
	}
}

var declared = regexp.MustCompile(`(?m)^static const (\w+) (\w+)(\[\d+\])?(\[\d+\])? FETTLE_UNUSED`)

// Every header compiles strictly, in files that use none of it or include it
// twice; and a C program that prints all of it prints what was written.
func TestC(t *testing.T) {
	each(t, "c", func(t *testing.T, c *emit.Content, files map[string][]byte) {
		dir := t.TempDir()
		text := files["tables.h"]
		var prog strings.Builder
		prog.WriteString("#include \"tables.h\"\n#include \"tables.h\"\n#include <stdio.h>\nint main(void) {\n")
		for _, d := range declared.FindAllStringSubmatch(string(text), -1) {
			name := d[2]
			switch {
			case d[4] != "":
				fmt.Fprintf(&prog, "  for (int i = 0; i < (int)(sizeof(%[1]s) / sizeof(%[1]s[0])); i++)\n    for (int k = 0; k < (int)(sizeof(%[1]s[0]) / sizeof(%[1]s[0][0])); k++) printf(\"%[1]s %%.17g\\n\", (double)%[1]s[i][k]);\n", name)
			case d[3] != "":
				fmt.Fprintf(&prog, "  for (int i = 0; i < (int)(sizeof(%[1]s) / sizeof(%[1]s[0])); i++) printf(\"%[1]s %%.17g\\n\", (double)%[1]s[i]);\n", name)
			default:
				fmt.Fprintf(&prog, "  printf(\"%[1]s %%.17g\\n\", %[1]s);\n", name)
			}
		}
		prog.WriteString("  return 0;\n}\n")
		for name, data := range map[string]string{"tables.h": string(text), "main.c": prog.String(), "idle.c": "#include \"tables.h\"\n#include \"tables.h\"\n"} {
			if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		gcc(t, dir, "main.c", "idle.c", "-o", "main")
		out, err := exec.Command(filepath.Join(dir, "main")).Output()
		if err != nil {
			t.Fatal(err)
		}
		got := map[string][]float64{}
		for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			name, number, _ := strings.Cut(line, " ")
			x, err := strconv.ParseFloat(number, 64)
			if err != nil {
				t.Fatal(err)
			}
			got[name] = append(got[name], x)
		}
		for i := range c.Tables {
			want := &c.Tables[i]
			base := prefixOf(c) + want.Name
			cells := got[base+"_values"]
			if want.Storage != nil {
				step, offset := got[base+"_step"], got[base+"_offset"]
				if len(step) != 1 || len(offset) != 1 {
					t.Fatalf("%s: step %v, offset %v", base, step, offset)
				}
				cells = meant(t, want, cells, step[0], offset[0])
			}
			var rows []float64
			if want.Rows.Points != nil {
				rows = got[base+"_axis_"+want.Rows.Name]
			}
			same(t, want, rows, got[base+"_axis_"+want.Cols.Name], cells)
		}
	})
}

// The storages are kept in C's types of the same width.
func TestCTypes(t *testing.T) {
	files, err := header(stored(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"static const uint8_t season_stock_820m_shop_ecu_u8_little_values[2][3] ", "static const int16_t season_stock_820m_shop_ecu_i16_big_values[3] ", "static const int32_t season_stock_820m_shop_ecu_i32_big_values[3] ",
		"static const float season_stock_820m_shop_ecu_f32_big_values[2][3] ", "0.1f", "-2147483647 - 1", "4294967295u", "#ifndef FETTLE_SEASON_STOCK_820M_SHOP_ECU_", "value = -10 + raw * 0.5 mg",
	} {
		if !strings.Contains(string(files[0].Data), want) {
			t.Errorf("the header lacks %q:\n%s", want, files[0].Data)
		}
	}
}

// The headers of two tunes, of their targets and of two slots of a bundle stand in
// one program, twice each; and no two of their arrays are one.
func TestCTogether(t *testing.T) {
	dir := t.TempDir()
	var prog strings.Builder
	n, names := 0, map[string]bool{}
	for _, c := range []struct {
		tune, target string
		slot         int
	}{
		{"bench", "", 0}, {"bench", "shop_ecu", 0}, {"bench", "shop_ecu", 1}, {"bench", "shop_ecu", 2}, {"season/stock-820m", "shop_ecu", 0}, {"season/stock-820m", "shop_ecu", 1},
		{"double", "", 0}, {"820m", "", 0}, {"season/wide-club-race102-1240m-on-a-wet-sunday", "shop_ecu", 2}, {"season/wide-club-race102-1240m-on-a-dry-sunday", "shop_ecu", 2},
	} {
		in := *stored(t)
		about := *in.About
		about.Name, in.About, in.Target, in.Input.Slot = c.tune, &about, c.target, c.slot
		files, err := header(&in)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("h%d.h", len(names))
		for _, d := range declared.FindAllStringSubmatch(string(files[0].Data), -1) {
			names[d[2]] = true
			n++
		}
		if !strings.Contains(string(files[0].Data), "_u16_little_axis_throttle[") && !strings.Contains(string(files[0].Data), "_u16_little_axis_rpm[") {
			t.Errorf("a table's name is cut for %s", c.tune)
		}
		fmt.Fprintf(&prog, "#include %q\n#include %q\n", name, name)
		if err := os.WriteFile(filepath.Join(dir, name), files[0].Data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if len(names) != n {
		t.Errorf("%d arrays have %d names", n, len(names))
	}
	prog.WriteString("int main(void) { return bench_slot_1_shop_ecu_u8_little_rows + season_stock_820m_slot_1_shop_ecu_u8_little_cols; }\n")
	if err := os.WriteFile(filepath.Join(dir, "all.c"), []byte(prog.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	gcc(t, dir, "-fsyntax-only", "all.c")
}

// Two tunes whose names make one identifier are seen by the compiler, and the
// second isn't silently the first.
func TestCSameIdentifier(t *testing.T) {
	guards := map[string]bool{}
	for _, name := range []string{"wet-lap", "wet_lap"} {
		files, err := header(&emit.Content{About: &emit.Tune{Name: name}})
		if err != nil {
			t.Fatal(err)
		}
		guards[regexp.MustCompile(`#define FETTLE_WET_LAP\w*_H`).FindString(string(files[0].Data))] = true
	}
	if len(guards) != 2 || guards[""] {
		t.Errorf("guards %v", guards)
	}
}

// hostile is a tune whose every text tries to break out of where it stands.
func hostile(t *rapid.T) *emit.Content {
	text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[*/?\\"'=+\-@#\[\]: \n\ra-c<>&%]{0,60}`), rapid.SampledFrom([]string{
		"*/ int x; /*", "??/", `\`, "=cmd|'/c calc'!A1", "*\\\n/", "]]>", "</script>", "\x00", "double", "\u202e*/", "*??/\n/", strings.Repeat("long_", 40)}))
	about := &emit.Tune{Name: text.Draw(t, "tune"), Doc: text.Draw(t, "doc"), Compiler: text.Draw(t, "version"), Cautions: []string{text.Draw(t, "caution")},
		Conditions: []emit.Condition{{Name: text.Draw(t, "given"), Value: text.Draw(t, "value"), Text: text.Draw(t, "value text")}},
		Limits:     []emit.Limit{{Name: text.Draw(t, "limit"), Text: text.Draw(t, "limit text")}}}
	c := &emit.Content{About: about, Target: rapid.OneOf(rapid.Just(""), text).Draw(t, "target")}
	for range rapid.IntRange(1, 3).Draw(t, "tables") {
		c.Tables = append(c.Tables, table.Table{Name: text.Draw(t, "name"), Map: text.Draw(t, "map"), Unit: text.Draw(t, "unit"), Doc: text.Draw(t, "table doc"),
			Rows: table.Axis{Name: text.Draw(t, "rows"), Unit: "%", Points: []float64{1, 2}}, Cols: table.Axis{Name: text.Draw(t, "cols"), Unit: "%", Points: []float64{-3, 4}},
			Cells: []float64{-1, 2.5, 0, 1e20}})
	}
	return c
}

// Whatever the names and texts are, the header compiles, and declares each array
// once under a name of its own.
func TestHostileC(t *testing.T) {
	if testing.Short() {
		t.Skip("runs gcc many times")
	}
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		c := hostile(rt)
		files, err := header(c)
		if err != nil {
			rt.Fatal(err)
		}
		names := map[string]bool{}
		for _, d := range declared.FindAllStringSubmatch(string(files[0].Data), -1) {
			names[d[2]] = true
			if len(d[2]) > maxIdentifier {
				rt.Fatalf("%s is too long a name", d[2])
			}
		}
		if len(names) != 3*len(c.Tables) {
			rt.Fatalf("%d names for %d tables", len(names), len(c.Tables))
		}
		if rapid.IntRange(0, 4).Draw(rt, "compiled") > 0 {
			return // gcc takes its time
		}
		if err := os.WriteFile(filepath.Join(dir, "a.c"), files[0].Data, 0o666); err != nil {
			rt.Fatal(err)
		}
		gcc(t, dir, "-fsyntax-only", "a.c")
	})
}
