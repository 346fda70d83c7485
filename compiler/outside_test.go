package compiler_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// touches is what may be called of the world outside, and by which file alone: a
// program that is started, the environment, what changes a disk. The rest of fettle
// computes.
var touches = map[string][]string{
	"cmd/fettle/app.go":           {"os.Getenv"},                                   // NO_COLOR, TERM
	"cmd/fettle/git.go":           {"exec.LookPath"},                               // how git is to call fettle; nothing is started
	"cmd/fettle/init.go":          {"os.MkdirAll"},                                 // the workspace's folder
	"cmd/fettle/main.go":          {"os.Getenv"},                                   // GOGC
	"cmd/fettle/merge.go":         {"os.Environ"},                                  // what git tells its merge driver
	"compiler/git/run.go":         {"exec.LookPath", "exec.Command", "os.Environ"}, // git
	"compiler/git/setup.go":       {"os.Remove"},                                   // an empty .gitattributes
	"lang/source/replace.go":      {"os.OpenFile", "os.Link", "os.Rename", "os.Remove"},
	"compiler/emit/folder.go":     {"os.MkdirAll", "os.Chmod", "os.Rename", "os.RemoveAll"},
	"compiler/emit/place.go":      {"os.MkdirAll", "os.Remove", "os.Mkdir", "os.Rename", "os.RemoveAll"},
	"compiler/emit/swap.go":       {"os.RemoveAll", "os.Rename", "os.OpenFile"},
	"compiler/emit/entries.go":    {"os.OpenFile", "os.Remove"},
	"compiler/emit/lock_flock.go": {"os.OpenFile", "os.Remove"},
	"compiler/emit/lock_other.go": {"os.OpenFile", "os.Remove"},
	"compiler/emit/io_other.go":   {"os.OpenFile", "os.Mkdir", "os.Link"},
	"compiler/emit/io_linux.go":   {"unix.Open", "unix.Openat", "unix.Mkdirat", "unix.Linkat"},
	"compiler/emit/swap_linux.go": {"unix.Renameat2"},
}

// watched are the calls that only those may make.
var watched = map[string]string{
	"os":      "Getenv LookupEnv Environ ExpandEnv Setenv StartProcess OpenFile Create CreateTemp WriteFile Mkdir MkdirAll MkdirTemp Rename Remove RemoveAll Link Symlink Chmod Chown Chtimes Truncate CopyFS",
	"exec":    "Command CommandContext LookPath",
	"syscall": "Exec ForkExec StartProcess Open Socket Rename Unlink Mkdir Getenv Environ",
	"unix":    "Exec Open Openat Mkdirat Linkat Renameat Renameat2 Unlinkat Socket Environ Getenv",
}

// closed are packages that nothing of ours imports: the network, and code that is
// loaded while it runs.
var closed = []string{"net", "net/http", "net/rpc", "plugin", "unsafe", "os/user", "C"}

func TestTouchesNothingElse(t *testing.T) {
	found := map[string][]string{}
	for _, room := range []string{"cmd", "compiler", "lang", "stdlib", "examples"} {
		err := filepath.WalkDir(filepath.Join("..", room), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
				return err
			}
			name := strings.TrimPrefix(filepath.ToSlash(path), "../")
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				t.Logf("%s: %v", name, err)
				return nil // the compiler says so too
			}
			for _, imp := range file.Imports {
				if p, _ := strconv.Unquote(imp.Path.Value); slices.Contains(closed, p) {
					t.Errorf("%s imports %s", name, p)
				} else if imp.Name != nil && slices.Contains([]string{"os", "os/exec", "syscall", "golang.org/x/sys/unix"}, p) {
					t.Errorf("%s imports %s by another name, so that nobody sees what it calls", name, p)
				}
			}
			ast.Inspect(file, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				pkg, ok := sel.X.(*ast.Ident)
				if ok && slices.Contains(strings.Fields(watched[pkg.Name]), sel.Sel.Name) {
					if call := pkg.Name + "." + sel.Sel.Name; !slices.Contains(found[name], call) {
						found[name] = append(found[name], call)
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, calls := range found {
		for _, call := range calls {
			if !slices.Contains(touches[name], call) {
				t.Errorf("%s calls %s, which it isn't known to", name, call)
			}
		}
	}
	for name, calls := range touches {
		for _, call := range calls {
			if !slices.Contains(found[name], call) {
				t.Errorf("%s doesn't call %s: take it out of the list", name, call)
			}
		}
	}
}
