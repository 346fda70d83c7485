package meaning

import (
	"io/fs"

	"fettle/compiler/merge"
	"fettle/lang/source"
)

// blend is the workspace as it will be after the merge, made up file by file as
// it is asked for.
type blend struct {
	s       *Scene
	units   map[string]string
	made    source.Memory
	gone    map[string]bool
	clashes []string // files that are in conflict in themselves
}

// blend begins with the file that the driver has merged already.
func (s *Scene) blend(merged string, units map[string]string) fs.FS {
	if s.alone {
		return over{s.sides[ours].(over).FS, source.Memory{s.rel: merged}}
	}
	return &blend{s: s, units: units, made: source.Memory{s.rel: merged}, gone: map[string]bool{}}
}

// Open implements fs.FS.
func (b *blend) Open(name string) (fs.File, error) {
	if _, ok := b.made[name]; !ok && !b.gone[name] && fs.ValidPath(name) {
		if text, ok := b.text(name); ok {
			b.made[name] = text
		} else {
			b.gone[name] = true
		}
	}
	return b.made.Open(name)
}

// text merges a file; false if there will be none.
func (b *blend) text(name string) (string, bool) {
	names := [3]string{name, name, name}
	byOurs, byTheirs := b.s.old[ours][name], b.s.old[theirs][name]
	switch {
	case byOurs == "" && byTheirs == "":
		for _, side := range []int{ours, theirs} {
			for _, old := range b.s.old[side] {
				if old == name {
					return "", false // it has another name now
				}
			}
		}
	case byOurs != "" && byTheirs == "":
		names[base], names[theirs] = byOurs, byOurs
	case byOurs == "" && byTheirs != "":
		names[base], names[ours] = byTheirs, byTheirs
	case byOurs == byTheirs:
		names[base] = byOurs
	default:
		b.clashes = append(b.clashes, name)
	}
	var v [3]string
	var there [3]bool
	for side, n := range names {
		v[side], there[side] = textOf(b.s.sides[side], n)
	}
	same := func(x, y int) bool { return there[x] == there[y] && v[x] == v[y] }
	switch {
	case same(ours, theirs), same(theirs, base):
		return v[ours], there[ours]
	case same(ours, base):
		return v[theirs], there[theirs]
	case !there[ours] || !there[theirs]:
		b.clashes = append(b.clashes, name)
		return v[ours] + v[theirs], true
	}
	r := merge.Texts(v[base], v[ours], v[theirs], merge.Options{Path: name, Units: b.units})
	if len(r.Conflicts) > 0 {
		b.clashes = append(b.clashes, name)
	}
	return r.Text, true
}
