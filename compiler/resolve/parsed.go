package resolve

import (
	"sync"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// A process that opens a workspace again, or another version of it, reads only
// the files that changed: files and trees are kept by name and text. Neither ever
// changes once it is made, so that workspaces can share them. Trees of files with
// faults aren't kept, since faults are told anew each time.

// maxKept is how many bytes of texts are kept, twice: what was asked for since it
// was last reached, and what was before.
const maxKept = 4 << 20

type text struct{ name, text string }

type parsed struct {
	file *source.File
	tree *syntax.File // nil of a CSV file
}

var kept struct {
	sync.Mutex
	now, before map[text]parsed
	size        int
}

// known finds what is kept of a text.
func known(key text) (parsed, bool) {
	kept.Lock()
	defer kept.Unlock()
	if p, ok := kept.now[key]; ok {
		return p, true
	}
	p, ok := kept.before[key]
	if ok {
		keep(key, p)
	}
	return p, ok
}

func keep(key text, p parsed) {
	if kept.now == nil || kept.size+len(key.text) > maxKept {
		kept.now, kept.before, kept.size = map[text]parsed{}, kept.now, 0
	}
	kept.now[key] = p
	kept.size += len(key.text)
}

// parse reads a source, or finds it among those that are kept.
func parse(f *source.File, errs *diag.List) *syntax.File {
	key := text{f.Name, f.Text}
	if p, ok := known(key); ok && p.tree != nil {
		return p.tree
	}
	told := errs.Len()
	tree := syntax.Parse(f, errs)
	if errs.Len() == told {
		kept.Lock()
		defer kept.Unlock()
		keep(key, parsed{f, tree})
	}
	return tree
}

// same gives a CSV file that is kept in the place of one with the same text.
func same(f *source.File) *source.File {
	key := text{f.Name, f.Text}
	if p, ok := known(key); ok {
		return p.file
	}
	kept.Lock()
	defer kept.Unlock()
	keep(key, parsed{file: f})
	return f
}
