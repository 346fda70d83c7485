// Package form holds the output formats beside CSV: each a file with a function
// from a tune's tables to files.
//
// How it goes. Every format takes tables as they are written (package table),
// rounded and perhaps stored, with what tune.json says of the tune. TSV is for
// the clipboard (tsv.go), JSON for programs (json.go), XLSX for people
// (xlsx.go), a C header for a controller's firmware (c.go, cnames.go), and a
// raw image with a map of it for tools that write memory (bin.go). None has a
// clock, a path or a random order in it: the same tables give the same bytes.
// Texts of a source may hold anything, so each format makes them harmless in
// its own way.
//
// In: emit.Content. Out: emit.Files. The list of them all is Formats. Imports
// emit; imported by cmd.
package form

import (
	"slices"
	"strings"

	"fettle/compiler/emit"
	"fettle/lang/diag"
)

// Formats lists the formats in the order in which they are shown.
var Formats = []emit.Format{
	{Name: emit.CSVFormat},
	{Name: "tsv", Files: tsv},
	{Name: "json", Files: jsonFile},
	{Name: "xlsx", Files: xlsx},
	{Name: "c", Files: header},
	{Name: "bin", Files: image},
}

// Names lists the formats' names.
func Names() []string {
	out := make([]string, len(Formats))
	for i, f := range Formats {
		out[i] = f.Name
	}
	return out
}

// UnknownError says that there is no format of a name.
type UnknownError struct {
	Name string
}

func (e *UnknownError) Error() string {
	name := e.Name
	if name == "" {
		name = `""`
	}
	text := "there is no format " + name
	if near := diag.Nearest(e.Name, Names()); near != "" {
		return text + ": did you mean " + near + "?"
	}
	return text + "; tables are written as " + strings.Join(Names(), ", ")
}

// Named gives the formats of these names, each once.
func Named(names []string) ([]emit.Format, error) {
	var out []emit.Format
	for _, name := range names {
		name = strings.TrimSpace(name)
		i := slices.IndexFunc(Formats, func(f emit.Format) bool { return f.Name == name })
		if i < 0 {
			return nil, &UnknownError{name}
		}
		if !slices.ContainsFunc(out, func(f emit.Format) bool { return f.Name == name }) {
			out = append(out, Formats[i])
		}
	}
	return out, nil
}
