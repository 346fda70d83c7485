package main

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fettle/compiler/explain"
	"fettle/compiler/history"
	"fettle/compiler/importer"
	"fettle/compiler/report"
	"fettle/compiler/review"
	"fettle/compiler/verify"
	"fettle/lang/diag"
)

// Every --json output is valid by its published schema: real commands on the
// examples, and on a workspace where things fail.
func TestJSONIsAsPublished(t *testing.T) {
	bad := t.TempDir()
	writeFile(t, bad+"/tune.fettle", failing)
	broken := t.TempDir()
	writeFile(t, broken+"/tune.fettle", "axis rpm [rpm] 9000..1000\nlett x = 5\n")
	built := t.TempDir() + "/out"
	tight := t.TempDir()
	writeFile(t, tight+"/tune.fettle", "axis rpm [rpm] 1000..9000\nmap fuel [mg] {\n rpm | 3000 7000\n | 10 13\n}\nvariant a { }\ntarget small { table fuel = fuel as u8 step 0.05 mg }\n")
	switched := t.TempDir()
	writeFile(t, switched+"/tune.fettle", "axis rpm [rpm] 1000..9000\ngiven wet = no\nmap fuel [mg] {\n rpm | 3000 7000\n | 0 13\n}\nrule soft when wet { fuel += 1 mg }\nvariant a { }\nvariant b { wet = yes }\n"+
		"bundle c {\n differs wet\n 1 = a\n 2 = b\n jump fuel = 2 %\n}\nbundle d {\n 1 = b\n 2 = a\n}\nbundle e {\n differs wet\n 1 = b\n 2 = a\n}\n")
	writeFile(t, bad+"/fuel.csv", "rpm [rpm],3000,5000,7000\n,1,5,9.5\n")
	repo := repository(t)
	for _, c := range []struct {
		schema, line string
		status       int
	}{
		{report.ListSchema, "-C ../../examples/lantern list --all --json", 0},
		{report.ShowSchema, "-C ../../examples/lantern show bench --json", 0},
		{report.CheckSchema, "-C ../../examples/tussock check --json --stats", 0},
		{report.CheckSchema, "-C " + bad + " check --json", 1},
		{report.BuildSchema, "-C " + bad + " build --json -o " + built, 1},
		{report.BuildSchema, "-C " + bad + " build b --json -o " + built, 0},
		{string(diag.Schema), "-C " + broken + " check --json", 2},
		{string(diag.Schema), "-C " + broken + " list --json", 2},
		{explain.Schema, "-C ../../examples/first why frosty_hill fuel 20 4000 --json", 0},
		{explain.Schema, "-C ../../examples/first why frosty_hill fuel 15 3000 --json", 0},
		{explain.Schema, "-C ../../examples/lantern why bench open_time 100 9500 --json", 0},
		{explain.Schema, "-C " + bad + " why a fuel 7000 --json", 0},
		{report.ShowSchema, "-C ../../examples/tussock show bench shop_ecu --json", 0},
		{report.ListSchema, "-C ../../examples/tussock list --json", 0},
		{report.CheckSchema, "-C " + tight + " check --json", 1},
		{report.BuildSchema, "-C " + tight + " build --json -o " + built + "/tight", 1},
		{report.ShowSchema, "-C " + tight + " show a small.fuel --json", 1},
		{explain.Schema, "-C " + tight + " why a small.fuel 7000 --json", 0},
		{explain.Schema, "-C ../../examples/tussock why rimside_rain shop_ecu.ignition 70 9100 --json", 0},
		{explain.Schema, "-C ../../examples/tussock why rimside_rain fuel 70 9100 --target shop_ecu --json", 0},
		{explain.Schema, "-C " + repo + " why HEAD:a fuel 7000 --json", 0},
		{history.Schema, "-C " + repo + " log a fuel 7000 --json", 0},
		{history.Schema, "-C " + repo + " log a fuel 7000 --json --max 2", 0},
		{string(diag.Schema), "-C " + repo + " log a fuel 7000_kg --json", 2},
		{review.Schema, "-C ../../examples/first diff home frosty_hill --json", 1},
		{review.Schema, "-C ../../examples/first diff home home --json", 0},
		{review.Schema, "-C ../../examples/tussock diff season/long-high-* season/wide-high-* --allow fuel=2% --json", 1},
		{verify.Schema, "-C ../../examples/tussock verify ../../examples/tussock/base_fuel.csv --json", 0},
		{verify.Schema, "-C ../../examples/tussock verify ../../examples/tussock/base_fuel.csv --against rimside_rain --json", 1},
		{verify.Schema, "-C " + bad + " verify " + bad + "/fuel.csv --json", 1},
		{report.CheckSchema, "-C " + switched + " check --json", 1},
		{report.BuildSchema, "-C " + switched + " build --json -o " + built + "/switched", 1},
		{report.ListSchema, "-C " + switched + " list --json", 0},
		{report.FmtSchema, "fmt --check --json " + bad + "/tune.fettle", 1},
		{string(diag.Schema), "fmt --check --json " + broken + "/tune.fettle", 2},
		{report.VersionSchema, "version --json", 0},
		{report.CodesSchema, "codes --json", 0},
		{report.EvalSchema, "eval --json air.pressure(1500_m)", 0},
		{report.EvalSchema, "eval --json 2>1", 0},
		{string(diag.Schema), "eval --json 1+", 2},
		{report.DocSchema, "doc --json", 0},
		{string(importer.Schema), "-C ../../examples/tussock import ../../examples/tussock/base_fuel.csv --json", 0},
		{string(importer.Schema), "import ../../examples/tussock/fuels.csv --json", 0},
		{string(diag.Schema), "import ../../examples/tussock/tune.fettle --json", 2},
	} {
		var out, errw bytes.Buffer
		if got := run(args(c.line), strings.NewReader(""), &out, &errw); got != c.status {
			t.Errorf("fettle %s exits with %d: %s%s", c.line, got, out.String(), errw.String())
			continue
		}
		doc, err := jsonschema.UnmarshalJSON(&out)
		if err != nil {
			t.Errorf("fettle %s: %v", c.line, err)
			continue
		}
		if err := schemaOf(t, c.schema).Validate(doc); err != nil {
			t.Errorf("fettle %s: %v", c.line, err)
		}
	}
}

// args parts a line at its spaces; a _ stands for a space inside an argument.
func args(line string) []string {
	out := strings.Fields(line)
	for i, a := range out {
		if strings.Contains(a, "(") {
			out[i] = strings.ReplaceAll(a, "_", " ")
		}
	}
	return out
}

func schemaOf(t *testing.T, text string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	id, _ := doc.(map[string]any)["$id"].(string)
	c := jsonschema.NewCompiler()
	if err := c.AddResource(id, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// failing is a workspace whose tunes fail, warn and are capped.
const failing = `
axis rpm [rpm] 1000..14000
given hot = no
map fuel [mg] {
  rpm | 3000 5000 7000
      |    1    _    9
}
rule rich { fuel += 10 % over rpm 5000.. feather 2000 }
rule never when hot { fuel += 1 }
limit top: fuel <= 9.5 mg when not hot
limit low: fuel >= 2 mg else warn
limit cap: fuel <= 9.8 mg else clamp
variant a { }
variant b {
  hot = yes
}
check "x" with a { fuel(3000) == 3 mg +- 1 % }
`

func writeFile(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// repository is one in which the cells of the failing workspace have seen all
// that a history tells of.
func repository(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	git := func(args ...string) {
		t.Helper()
		cmd := exec.Command("git", append([]string{"-C", dir, "-c", "user.name=A Tuner", "-c", "user.email=tuner@tussock.invalid"}, args...)...)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
	top := func(fuel string) string { return strings.Replace(failing, "1    _    9", "1    _    "+fuel, 1) }
	commit := func(text string) {
		t.Helper()
		writeFile(t, dir+"/tune.fettle", text)
		git("add", "-A")
		git("commit", "-q", "-m", "another")
	}
	git("init", "-q", "-b", "main")
	called := func(name, text string) string {
		return strings.NewReplacer("variant a {", "variant "+name+" {", "with a {", "with "+name+" {").Replace(text)
	}
	commit(called("z", failing))
	commit(failing)
	commit("lett x = 5\n")
	commit(top("8"))
	git("checkout", "-q", "-b", "side")
	commit(top("7"))
	git("checkout", "-q", "main")
	git("merge", "-q", "--no-ff", "--no-commit", "side")
	commit(top("6"))
	commit(called("y", top("4")))
	commit(top("6"))
	writeFile(t, dir+"/tune.fettle", top("5"))
	return dir
}
