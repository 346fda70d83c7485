// Package resolve gathers a workspace: the main file, the files and modules
// that it uses, and the CSV files that they name; and it puts every name in one
// table.
//
// How it goes. Files are read depth first, each once; a file's declarations
// come after those of the files it uses. Circles of files are refused. Every
// declared name of the workspace goes into one name space, and a second
// declaration of a name is an error that shows both places. A module of the
// standard library has a name space of its own.
//
// In: an fs.FS. Out: a Program of declarations in order, and diagnostics.
// Imported by check and the compiler; imports lang and stdlib.
package resolve

import (
	"io/fs"
	"path"
	"strings"
	"sync"

	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/work"
	"fettle/stdlib"
)

// Names is one name space: the workspace's, or a module's.
type Names struct {
	Module  string // "" for the workspace
	Table   map[string]syntax.Decl
	Order   []string
	Modules map[string]*Names // those that are used here
	UsedAt  map[string]source.Span
	Partial bool // something that is used can't be read, so names may be missing
}

// Program is a gathered workspace.
type Program struct {
	Files    []*syntax.File // in the order they count
	Root     *Names
	Modules  []*Names // of the library, in the order they were first used
	Decls    []syntax.Decl
	CSVs     map[string]*source.File // texts of the CSV files that are named
	MainFile *source.File
}

// Load gathers a workspace from its files.
func Load(fsys fs.FS, errs *diag.List) *Program {
	l := &loader{fsys: fsys, errs: errs, dirs: map[string][]fs.DirEntry{}, state: map[string]int{}, trees: map[string]*syntax.File{}, modules: map[string]*Names{},
		p: &Program{Root: newNames(""), CSVs: map[string]*source.File{}}}
	main, err := source.ReadText(fsys, source.MainName)
	if err != nil {
		d := errs.Add("E401", source.Span{}, "%v", err)
		if _, err := fs.Stat(fsys, source.MainName); err != nil {
			d.Hint("a workspace is a folder with a %s in it", source.MainName)
		}
		return l.p
	}
	l.p.MainFile = main
	l.file(main)
	l.strays()
	return l.p
}

// strays warns of sources that lie in the workspace and that no file uses: a
// forgotten `use` can take all limits away without a word.
func (l *loader) strays() {
	if l.errs.HasErrors() {
		return
	}
	seen := 0
	_ = fs.WalkDir(l.fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if seen++; err != nil || seen > 10_000 {
			return fs.SkipAll
		}
		if d.IsDir() {
			if name == "." {
				return nil
			}
			// Neither a workspace of its own nor what a build wrote, which may be large.
			for _, mark := range []string{source.MainName, "index.json"} {
				if _, err := fs.Stat(l.fsys, path.Join(name, mark)); err == nil {
					return fs.SkipDir
				}
			}
			if strings.HasPrefix(d.Name(), ".") {
				return fs.SkipDir
			}
			return nil
		}
		if path.Ext(name) == ".fettle" && l.state[name] == unread {
			l.errs.Add("W013", source.Span{File: l.p.MainFile}, "%q lies in the workspace, and no file uses it", name).
				Hint("write `use %q` at the top of %s, or move it away", name, source.MainName)
		}
		return nil
	})
}

// FileName is the name in the workspace of a file that another one names: names
// are relative to the folder of the file they stand in.
func FileName(in *source.File, value string) string {
	if path.IsAbs(value) || in == nil {
		return value
	}
	return path.Join(path.Dir(in.Name), value)
}

func newNames(module string) *Names {
	return &Names{Module: module, Table: map[string]syntax.Decl{}, Modules: map[string]*Names{}, UsedAt: map[string]source.Span{}}
}

const (
	unread = iota
	reading
	read
)

type loader struct {
	fsys    fs.FS
	errs    *diag.List
	state   map[string]int
	stack   []string
	trees   map[string]*syntax.File
	modules map[string]*Names
	dirs    map[string][]fs.DirEntry // that were looked into for a near name
	words   int                      // of the sources so far
	bytes   int                      // of all texts so far
	many    bool                     // and said so
	p       *Program
}

// maxBytes bounds the texts of a workspace together, which all stay in memory.
const maxBytes = 64 << 20

// How many files a workspace may use, and how deep in one another.
const (
	maxDeep  = 100
	maxFiles = 1000
)

// maxPath bounds a file's name, which is repeated wherever it is spoken of.
const maxPath = 1000

func (l *loader) tooLong(name string, at source.Span) bool {
	if len(name) > maxPath {
		l.errs.Add("E410", at, "the name of this file has %d bytes; the most is %d", len(name), maxPath)
	}
	return len(name) > maxPath
}

// more counts a text that was read; false, and said once, if it was one too many.
func (l *loader) more(f *source.File, at source.Span) bool {
	before := l.bytes
	if l.bytes += len(f.Text); l.bytes > maxBytes && before <= maxBytes {
		l.errs.Add("E410", at, "with %q the texts of the workspace have over %d bytes together, the most that is read", f.Name, maxBytes)
	}
	return l.bytes <= maxBytes
}

// file reads a file of the workspace after those it uses.
func (l *loader) file(f *source.File) {
	l.state[f.Name] = reading
	l.stack = append(l.stack, f.Name)
	tree := parse(f, l.errs)
	if l.words += tree.Words; l.words > work.Most(work.Words) {
		if l.words-tree.Words <= work.Most(work.Words) {
			l.errs.Add("E410", source.Span{File: f}, "the sources of the workspace have over %d words and signs together, the most that are read", work.Most(work.Words)).Hint(work.Hint)
		}
		tree = &syntax.File{Source: f, Partial: true}
	}
	l.trees[f.Name] = tree
	l.uses(tree, l.p.Root)
	l.stack = l.stack[:len(l.stack)-1]
	l.state[f.Name] = read
	l.p.Files = append(l.p.Files, tree)
	for _, d := range tree.Decls {
		if d.Header().Keyword == "use" {
			continue
		}
		l.p.Decls = append(l.p.Decls, d)
		l.declare(l.p.Root, d)
		l.csv(d)
	}
}

// uses follows a file's use lines, which come before everything else.
func (l *loader) uses(tree *syntax.File, names *Names) {
	names.Partial = names.Partial || tree.Partial
	var before syntax.Decl
	here := map[string]source.Span{} // what this file has used so far
	for _, d := range tree.Decls {
		u, ok := d.(*syntax.Use)
		if !ok {
			if before == nil {
				before = d
			}
			continue
		}
		if before != nil {
			l.errs.Add("E402", u.Span, "`use` comes first in a file").Note(before.Header().Span, "this stands before it").
				Hint("move it to the top")
		}
		for _, item := range u.Items {
			word := item.Module.Text
			if item.File != nil {
				word = `"` + item.File.Value + `"`
			}
			if at, ok := here[word]; ok {
				l.errs.Add("W008", item.Span, "`%s` is used twice", word).Note(at, "the first")
				continue
			}
			here[word] = item.Span
			if item.File != nil {
				l.useFile(item, names)
			} else {
				l.useModule(item, names)
			}
		}
	}
}

func (l *loader) useFile(item syntax.UseItem, names *Names) {
	if names.Module != "" {
		l.errs.Add("E403", item.Span, "a module of the standard library uses modules only")
		return
	}
	name := FileName(item.Span.File, item.File.Value)
	if l.tooLong(name, item.Span) {
		names.Partial = true
		return
	}
	switch l.state[name] {
	case read:
		return
	case reading:
		circle := append(append([]string{}, l.stack...), name)
		for i, s := range circle {
			if s == name {
				circle = circle[i:]
				break
			}
		}
		l.errs.Add("E404", item.Span, "files use each other in a circle: %s", strings.Join(circle, " uses ")).
			Hint("put what both need in a third file")
		return
	}
	if len(l.stack) > maxDeep || len(l.state) > maxFiles {
		if !l.many {
			l.errs.Add("E410", item.Span, "from here on the files are over %d deep, or over %d in all, the most that are read", maxDeep, maxFiles)
		}
		l.many, names.Partial = true, true
		return
	}
	f, err := source.ReadText(l.fsys, name)
	if err != nil {
		l.state[name] = read
		names.Partial = true
		d := l.errs.Add("E401", item.Span, "%v", err)
		l.suggestFile(d, *item.File, name)
		return
	}
	if !l.more(f, item.Span) {
		l.state[name] = read
		names.Partial = true
		return
	}
	l.file(f)
}

// suggestFile looks in the folder of a missing file for one spelled like it.
func (l *loader) suggestFile(d *diag.Diagnostic, written syntax.Text, name string) {
	dir := path.Dir(name)
	if l.errs.Many() || !fs.ValidPath(dir) {
		return
	}
	entries, ok := l.dirs[dir]
	if !ok {
		entries, _ = fs.ReadDir(l.fsys, dir)
		l.dirs[dir] = entries
	}
	ext := path.Ext(name)
	var list []string
	for _, e := range entries {
		full := path.Join(dir, e.Name())
		if !e.IsDir() && path.Ext(full) == ext && l.state[full] == unread {
			list = append(list, strings.TrimSuffix(e.Name(), ext))
		}
	}
	near := diag.Nearest(strings.TrimSuffix(path.Base(name), ext), list)
	if near != "" {
		near = path.Join(path.Dir(written.Value), near) + ext
		d.Suggest(written.Span, `"`+near+`"`, "did you mean %q?", near)
	}
}

func (l *loader) useModule(item syntax.UseItem, names *Names) {
	name := item.Module.Text
	if _, ok := names.UsedAt[name]; ok {
		return
	}
	mod := l.module(name, item, names)
	if mod == nil {
		return
	}
	names.UsedAt[name] = item.Span
	names.Modules[name] = mod
	if d, ok := names.Table[name]; ok {
		l.twice(name, item.Span, d.Header())
	}
}

func (l *loader) module(name string, item syntax.UseItem, names *Names) *Names {
	if m, ok := l.modules[name]; ok {
		if m == nil {
			l.errs.Add("E404", item.Span, "modules use each other in a circle: `%s`", name)
		}
		return m
	}
	text, ok := stdlib.Text(name)
	if !ok {
		d := l.errs.Add("E405", item.Span, "the standard library has no module `%s`", name)
		names.Partial = true
		if st, err := fs.Stat(l.fsys, FileName(item.Span.File, name+".fettle")); err == nil && st.Mode().IsRegular() {
			d.Suggest(item.Span, `"`+name+`.fettle"`, "a file is named in quotes: write \"%s.fettle\"", name)
			return nil
		}
		near := diag.Nearest(name, stdlib.Modules())
		if near == "" {
			d.Hint("it has: %s; a file is named in quotes", strings.Join(stdlib.Modules(), ", "))
			return nil
		}
		d.Suggest(item.Span, near, "did you mean `%s`?", near)
		item.Module.Text = near
		return l.module(near, item, names) // so that what is asked of it is found
	}
	l.modules[name] = nil
	tree := libraryTree(name, text)
	m := newNames(name)
	l.uses(tree, m)
	for _, d := range tree.Decls {
		switch d.(type) {
		case *syntax.Let, *syntax.Fn, *syntax.Curve, *syntax.Catalog:
			l.declare(m, d)
		case *syntax.Use:
		default:
			l.errs.Add("E403", d.Header().Span, "a module holds only use, let, fn, curve and catalog")
		}
	}
	l.modules[name] = m
	l.p.Modules = append(l.p.Modules, m)
	return m
}

// library holds the trees of the library's modules: the same for every workspace,
// and read once. They have no faults; a test of the library sees to that.
var library sync.Map

func libraryTree(name, text string) *syntax.File {
	if t, ok := library.Load(name); ok {
		return t.(*syntax.File)
	}
	t, _ := library.LoadOrStore(name, syntax.Parse(source.New("stdlib/"+name+".fettle", text), &diag.List{}))
	return t.(*syntax.File)
}

// declare puts a name in its name space.
func (l *loader) declare(names *Names, d syntax.Decl) {
	h := d.Header()
	switch d.(type) {
	case *syntax.Check, *syntax.Review, *syntax.Caution, *syntax.Use:
		return
	}
	name := h.Name.Text
	if name == "" {
		return
	}
	if formula.IsBuiltin(name) {
		l.errs.Add("E407", h.Name.Span, "`%s` is a function of the language", name).Hint("choose another name")
		return
	}
	if first, ok := names.Table[name]; ok {
		if _, broken := first.(*syntax.Broken); broken {
			names.Table[name] = d // of one that can't be read even the name is in doubt
		} else if _, broken := d.(*syntax.Broken); !broken {
			l.twice(name, h.Name.Span, first.Header())
		}
		return
	}
	if at, ok := names.UsedAt[name]; ok {
		l.errs.Add("E406", h.Name.Span, "`%s` is declared twice", name).Note(at, "it is the module used here").
			Hint("one name, one meaning: choose another for one of them")
		return
	}
	names.Table[name] = d
	names.Order = append(names.Order, name)
}

func (l *loader) twice(name string, at source.Span, first *syntax.Head) {
	l.errs.Add("E406", at, "`%s` is declared twice", name).Note(first.Name.Span, "first declared here, as %s", What(first.Keyword)).
		Hint("one name, one meaning: choose another for one of them")
}

// What names a declaration's kind in a sentence.
func What(keyword string) string {
	switch keyword {
	case "fn":
		return "a function"
	case "let":
		return "a value"
	case "catalog":
		return "a catalogue"
	case "axis":
		return "an axis"
	case "variants":
		return "a matrix of variants"
	}
	return "a " + keyword
}

// csv reads the CSV file that a map or catalogue names.
func (l *loader) csv(d syntax.Decl) {
	var file *syntax.Text
	switch d := d.(type) {
	case *syntax.Map:
		file = d.File
	case *syntax.Catalog:
		file = d.File
	}
	if file == nil {
		return
	}
	name := FileName(file.Span.File, file.Value)
	if l.tooLong(name, file.Span) {
		return
	}
	if _, ok := l.p.CSVs[name]; ok {
		return
	}
	f, err := source.ReadText(l.fsys, name)
	if err != nil {
		l.suggestFile(l.errs.Add("E401", file.Span, "%v", err), *file, name)
		return
	}
	if !l.more(f, file.Span) || syntax.Conflicts(f, l.errs) {
		return
	}
	l.p.CSVs[name] = same(f)
}
