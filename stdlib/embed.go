// Package stdlib holds the standard library: fettle sources, a file a module,
// each with the sources of its formulas and figures.
//
// Out: their texts, embedded. Imported by compiler/resolve; imports nothing of ours.
package stdlib

import (
	"embed"
	"strings"
)

//go:embed *.fettle
var files embed.FS

// Text gives a module's source.
func Text(module string) (string, bool) {
	b, err := files.ReadFile(module + ".fettle")
	return string(b), err == nil
}

// Modules lists the modules' names, sorted.
func Modules() []string {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".fettle"))
	}
	return out
}
