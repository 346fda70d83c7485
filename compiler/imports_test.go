package compiler_test

import (
	"os/exec"
	"strings"
	"testing"
)

// rooms lists the packages in the order in which imports may point: a package
// imports only those before it. Those in free import nothing of ours.
var rooms = []string{
	"lang/source", "lang/diag", "lang/unit", "lang/syntax", "lang/formula", "lang/format", "compiler/celltext", "compiler/merge",
	"compiler/table", "compiler/resample", "compiler/resolve", "compiler/check", "compiler/plan", "compiler/eval", "compiler/limit", "compiler/interval", "compiler/prove", "compiler/target",
	"compiler/bundle", "compiler/explain", "compiler/emit", "compiler/form", "compiler/live", "compiler/hybrid", "compiler/diff", "compiler/review", "compiler/page", "compiler/library",
	"compiler/importer", "compiler/report", "compiler", "compiler/session", "compiler/sides", "compiler/verify", "compiler/history", "compiler/merge/meaning", "cmd/fettle",
}

var free = []string{"compiler/grid", "compiler/workbook", "compiler/git", "compiler/randomly", "stdlib", "examples", "lang/elementary", "lang/work"}

// behindOneDoor says which package alone may import a dependency.
var behindOneDoor = map[string]string{
	"github.com/alecthomas/participle/v2": "lang/syntax",
	"github.com/expr-lang/expr":           "lang/formula",
	"github.com/sergi/go-diff":            "compiler/diff",
	"github.com/spf13/cobra":              "cmd/fettle",
	"github.com/jedib0t/go-pretty/v6":     "compiler/report",
	"github.com/xuri/excelize/v2":         "compiler/workbook",
}

func TestImportsPointOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.ImportPath}}: {{join .Imports \" \"}}", "fettle/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	rank := map[string]int{}
	for i, r := range rooms {
		rank["fettle/"+r] = i + 1
	}
	isFree := map[string]bool{}
	for _, f := range free {
		isFree["fettle/"+f] = true
	}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		pkg, list, _ := strings.Cut(line, ": ")
		if rank[pkg] == 0 && !isFree[pkg] {
			t.Errorf("%s is a room that the house doesn't know: give it a place here and in DEVELOPERS.md", pkg)
		}
		for _, imp := range strings.Fields(list) {
			for dep, door := range behindOneDoor {
				if (imp == dep || strings.HasPrefix(imp, dep+"/")) && pkg != "fettle/"+door {
					t.Errorf("%s imports %s, which only %s may", pkg, imp, door)
				}
			}
			if !strings.HasPrefix(imp, "fettle/") {
				continue
			}
			switch {
			case isFree[pkg]:
				t.Errorf("%s imports %s, and is to import nothing of ours", pkg, imp)
			case isFree[imp]:
			case rank[imp] >= rank[pkg]:
				t.Errorf("%s imports %s: imports point the other way", pkg, imp)
			}
			if strings.HasPrefix(pkg, "fettle/lang/") && strings.HasPrefix(imp, "fettle/compiler") {
				t.Errorf("%s imports %s: lang never imports compiler", pkg, imp)
			}
		}
	}
}
