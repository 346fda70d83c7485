package source_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"fettle/lang/source"
)

func TestDevices(t *testing.T) {
	for _, name := range []string{"con", "CON", "nul.csv", "Aux.tar.gz", "prn .txt", "com1", "lpt9.csv", "COM¹", "conin$", "com0"} {
		if !source.IsDevice(name) {
			t.Errorf("%q is a device on Windows", name)
		}
	}
	for _, name := range []string{"", "cone", "console", "auxiliary.csv", "a.nul", "com", "com10", "lpt", "lptx", "null", "fuel.con", "com1a", "com12.csv"} {
		if source.IsDevice(name) {
			t.Errorf("%q is no device", name)
		}
	}
}

// A name of a source means the same file on every system, or none.
func TestNamesOfBothStyles(t *testing.T) {
	fsys := fstest.MapFS{}
	for _, name := range []string{"a.csv", "sub/a.csv", "C:/a.csv", "C:a.csv", "a.csv:hidden", "sub./a.csv", "a.csv.", "a.csv ", "nul.csv", "aux/a.csv", `sub\a.csv`, `C:\a.csv`, "a..b.csv", "sub.d/.a"} {
		fsys[name] = &fstest.MapFile{Data: []byte("text")}
	}
	for _, name := range []string{"a.csv", "sub/a.csv", "a..b.csv", "sub.d/.a"} {
		if f, err := source.ReadText(fsys, name); err != nil || f.Text != "text" || f.Name != name {
			t.Errorf("%q: %v", name, err)
		}
	}
	for name, want := range map[string]string{
		`sub\a.csv`: "backslash", `C:\a.csv`: "backslash", `\\server\share\a.csv`: "backslash", `..\a.csv`: "backslash",
		"C:/a.csv": "colon", "C:a.csv": "colon", "a.csv:hidden": "colon",
		"/a.csv": "out of the workspace", "//server/share/a.csv": "out of the workspace", "../a.csv": "out of the workspace",
		"sub/../a.csv": "out of the workspace", "./a.csv": "out of the workspace", "": "out of the workspace", "sub//a.csv": "out of the workspace",
		"sub./a.csv": "dot or space", "a.csv.": "dot or space", "a.csv ": "dot or space", ".../a.csv": "dot or space",
		"nul.csv": "device", "aux/a.csv": "device",
	} {
		if _, err := source.ReadText(fsys, name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want something of %q", name, err, want)
		}
	}
}
