package verify

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/sides"
	"fettle/compiler/table"
	"fettle/lang/diag"
)

// ErrStopped says that the caller stopped the search.
var ErrStopped = errors.New("interrupted")

// Search says which tune was read. against names the one that was asked about, of
// the work tree or of a revision; "" asks about none.
func Search(find *sides.Finder, read *Read, against string, stop <-chan struct{}) (*Result, error) {
	r := &Result{Read: read}
	s := &search{read: read, stop: stop, seen: map[string]bool{}}
	if against != "" {
		src, tag, t, err := asked(find, against)
		if err != nil {
			return nil, err
		}
		if r.Against, err = s.one(src, tag, t); err != nil {
			return nil, err
		}
		if r.Against == nil {
			return nil, s.noTable(src.Workspace, against)
		}
		if r.Against.Grade == Same {
			return r, nil
		}
	}
	tree, err := find.WorkTree()
	if err != nil {
		return nil, err
	}
	if err := s.source(tree, ""); err != nil {
		return nil, err
	}
	if s.best == nil || s.best.far.grade != Same {
		if err := s.tags(find, r); err != nil {
			return nil, err
		}
	}
	if s.best == nil {
		return nil, s.noTable(tree.Workspace, "")
	}
	if s.best.Grade == Differs {
		r.Nearest = s.best
	} else {
		r.Is = s.alike
	}
	if a := r.Against; a != nil && a.Grade == AsFar && s.best.Grade == Same {
		a.Grade = Differs // it is another tune in every digit
		for _, set := range a.Sets {
			for _, p := range set.Pairs {
				if p.Grade == AsFar {
					p.strictly()
				}
			}
		}
	}
	for _, f := range append([]*Found{r.Against, r.Nearest}, r.Is...) {
		if f != nil {
			f.fails()
		}
	}
	return r, nil
}

// asked finds the tune of a name: TUNE, :TUNE or REV:TUNE.
func asked(find *sides.Finder, name string) (*sides.Source, string, *plan.Tune, error) {
	rev, tune, ok := strings.Cut(name, ":")
	if !ok {
		rev, tune = "", name
	}
	var src *sides.Source
	var err error
	if rev == "" {
		src, err = find.WorkTree()
	} else {
		src, err = find.Revision(rev)
	}
	if err != nil {
		return nil, "", nil, err
	}
	if t := src.Plan.Find(tune); t != nil {
		return src, rev, t, nil
	}
	switch list, _ := src.Select([]string{tune}, nil); {
	case len(list) == 1:
		return src, rev, list[0], nil
	case len(list) > 1:
		return nil, "", nil, fmt.Errorf("%s matches %d tunes, and one is wanted: %s, %s, …", name, len(list), list[0].Name, list[1].Name)
	}
	if near := diag.Nearest(tune, src.Plan.Names()); near != "" {
		return nil, "", nil, fmt.Errorf("no tune is called %s: did you mean %s?", name, near)
	}
	return nil, "", nil, fmt.Errorf("no tune is called %s; `fettle list` names them", name)
}

type search struct {
	read  *Read
	stop  <-chan struct{}
	seen  map[string]bool // digests of sources
	best  *Found
	alike []*Found // as good as the best, where it isn't one that differs
}

// tags looks at the tunes of every tag.
func (s *search) tags(find *sides.Finder, r *Result) error {
	repo, err := find.Repo()
	if err != nil {
		return nil // no repository, so no tags
	}
	tags, err := repo.Tags()
	if err != nil {
		return fmt.Errorf("the tags can't be read: %w", err)
	}
	for _, tag := range tags {
		c, err := repo.Commit("refs/tags/" + tag)
		if err != nil {
			r.Skipped = append(r.Skipped, tag)
			continue
		}
		src, err := find.AtCommit(tag, c)
		if err != nil {
			r.Skipped = append(r.Skipped, tag)
			continue
		}
		r.Tags++
		if err := s.source(src, tag); err != nil {
			return err
		}
	}
	return nil
}

// source looks at every tune of a source, unless the same was seen before.
func (s *search) source(src *sides.Source, tag string) error {
	digest := src.Digest()
	if s.seen[digest] {
		return nil
	}
	s.seen[digest] = true
	tunes := src.Plan.Tunes
	out := make([]*Found, len(tunes))
	next, ask := make(chan int), s.wanted(src.Workspace)
	var wg sync.WaitGroup
	for range min(len(tunes), runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				out[i] = s.look(src, tag, tunes[i], ask)
			}
		}()
	}
	var err error
	for i := range tunes {
		select {
		case <-s.stop:
			err = ErrStopped
		case next <- i:
			continue
		}
		break
	}
	close(next)
	wg.Wait()
	if err != nil {
		return err
	}
	for _, f := range out {
		s.add(f)
	}
	return nil
}

// add keeps a tune that is as good as the best, or better.
func (s *search) add(f *Found) {
	switch {
	case f == nil:
	case s.best == nil || f.far.less(s.best.far):
		s.best, s.alike = f, []*Found{f}
	case f.Grade == s.best.Grade && f.Grade != Differs:
		s.alike = append(s.alike, f)
	}
}

// sets is what of a workspace is computed for each tune.
type sets struct {
	own     bool
	targets []*check.Target
	known   map[string]bool // names of maps and tables
}

// mayBe says whether each table of a group has a partner in a set of these names.
func (g *Group) mayBe(names, known map[string]bool) bool {
	for _, t := range g.Tables {
		if known[t.Name] && !names[t.Name] {
			return false
		}
	}
	return true
}

// wanted leaves out what the names of the folders and tables rule out.
func (s *search) wanted(w *compiler.Workspace) sets {
	out := sets{known: map[string]bool{}}
	for _, m := range w.Program.Maps {
		out.known[m.Name] = true
	}
	for _, t := range w.Program.Targets {
		for _, one := range t.Tables {
			out.known[one.Name] = true
		}
	}
	for i := range s.read.Groups {
		g := &s.read.Groups[i]
		own := map[string]bool{}
		for _, m := range w.Program.Maps {
			own[m.Name] = true
		}
		out.own = out.own || g.Folder == "" && g.mayBe(own, out.known)
		for _, t := range w.Program.Targets {
			names := map[string]bool{}
			for _, one := range t.Tables {
				names[one.Name], names[one.Map.Name] = true, true
			}
			if (g.Folder == "" || g.Folder == t.Name) && g.mayBe(names, out.known) && !slices.Contains(out.targets, t) {
				out.targets = append(out.targets, t)
			}
		}
	}
	return out
}

// one looks at a single tune.
func (s *search) one(src *sides.Source, tag string, t *plan.Tune) (*Found, error) {
	select {
	case <-s.stop:
		return nil, ErrStopped
	default:
	}
	return s.look(src, tag, t, s.wanted(src.Workspace)), nil
}

// look sets a tune beside what was read; nil where a folder is none of its sets.
func (s *search) look(src *sides.Source, tag string, t *plan.Tune, ask sets) *Found {
	f := &Found{Source: src, Tag: tag, Tune: t}
	own, stored := src.Tables(t, ask.own, ask.targets)
	var all []*Pair
	for rest := s.read.Groups; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].Folder == rest[0].Folder {
			n++
		}
		groups, folder := rest[:n], rest[0].Folder
		rest = rest[n:]
		var best *Set
		try := func(target *check.Target, tables []table.Table) {
			var pairs []*Pair
			for i := range groups {
				more := match(&groups[i], tables, ask.known)
				if len(more) == 0 {
					return
				}
				pairs = append(pairs, more...)
			}
			if best == nil || closer(pairs, best.Pairs) {
				best = &Set{target, pairs}
			}
		}
		if folder == "" {
			try(nil, own)
		}
		for k, target := range ask.targets {
			if folder == "" || folder == target.Name {
				try(target, stored[k])
			}
		}
		if best == nil {
			return nil
		}
		f.Sets = append(f.Sets, *best)
		all = append(all, best.Pairs...)
	}
	f.far = farOf(all)
	f.Grade = f.far.grade
	return f
}

// strictly gives the cells of a pair that agreed only as far as its decimals
// tell.
func (p *Pair) strictly() {
	exact := *p.Read
	exact.Decimals = -1
	*p = *beside(&exact, p.Tune)
}

// fails notes whether build writes a tune, for the targets that it was found for.
func (f *Found) fails() {
	opt := compiler.RunOptions{}
	for _, set := range f.Sets {
		if set.Target != nil {
			opt.Targets = append(opt.Targets, set.Target)
		}
	}
	o := f.Source.Workspace.Tune(f.Tune, opt)
	f.Fails = o.Failed()
	for _, on := range o.Targets {
		f.Fails = f.Fails || on.Fails()
	}
}

// noTable says that nothing of a workspace has the form of what was read.
func (s *search) noTable(w *compiler.Workspace, against string) error {
	what := "no tune here"
	if against != "" {
		what = against
	}
	for _, g := range s.read.Groups {
		if g.Folder != "" && !hasTarget(w, g.Folder) {
			return fmt.Errorf("%s has tables in a folder %s, and no target is called so", s.read.Title, g.Folder)
		}
		for _, t := range g.Tables {
			if !s.fits(w, t) {
				return fmt.Errorf("%s: %s has no table %s over %s", t.File, what, t.Name, axesText(t))
			}
		}
	}
	return fmt.Errorf("%s: %s has these tables in one place: they are of the maps and of a target, or of two targets; name one folder or one file", s.read.Title, what)
}

func hasTarget(w *compiler.Workspace, name string) bool {
	for _, t := range w.Program.Targets {
		if t.Name == name {
			return true
		}
	}
	return false
}

// fits says whether any map or table of a workspace is over the axes of a table
// that was read and, where some have its name, one of these.
func (s *search) fits(w *compiler.Workspace, t *Table) bool {
	named, namedFits, anyFits := false, false, false
	see := func(name string, m *check.Map) {
		var rows, cols table.Axis
		axis := func(i int) table.Axis {
			a := w.Program.Axes[m.Axes[i]]
			return table.Axis{Name: a.Name, Unit: a.Unit.Text, Points: []float64{0}}
		}
		cols = axis(len(m.Axes) - 1)
		if len(m.Axes) == 2 {
			rows = axis(0)
		}
		_, ok := pointsIn(t.Rows, rows)
		_, ok2 := pointsIn(t.Cols, cols)
		anyFits = anyFits || ok && ok2
		if name == t.Name {
			named, namedFits = true, namedFits || ok && ok2
		}
	}
	for _, m := range w.Program.Maps {
		see(m.Name, m)
	}
	for _, target := range w.Program.Targets {
		for _, one := range target.Tables {
			see(one.Name, one.Map)
		}
	}
	if named {
		return namedFits
	}
	return anyFits
}

func axesText(t *Table) string {
	if t.Rows.Points == nil {
		return t.Cols.Name
	}
	return t.Rows.Name + " and " + t.Cols.Name
}
