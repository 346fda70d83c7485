package review

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"math"

	"fettle/compiler/diff"
	"fettle/lang/source"
)

// SchemaName is the form of a review's JSON, with its version.
const SchemaName = "fettle/diff/2"

// Schema is the JSON Schema (draft 2020-12) of it.
//
//go:embed schema/diff.schema.json
var Schema string

type jsonReview struct {
	Schema   string       `json:"schema"`
	Differs  bool         `json:"differs"`
	Verdict  Verdict      `json:"verdict"`
	Old      jsonOrigin   `json:"old"`
	New      jsonOrigin   `json:"new"`
	Counts   jsonCounts   `json:"counts"`
	Policy   jsonPolicy   `json:"policy"`
	Limits   []jsonMargin `json:"limits"`
	Spikes   []jsonSpike  `json:"spikes"`
	Groups   []jsonGroup  `json:"groups"`
	Elements []jsonChange `json:"elements"`
	Renamed  []jsonRename `json:"renamed"`
	Edited   []jsonEdited `json:"edited"`
	OnlyOld  []jsonLone   `json:"only_old"`
	OnlyNew  []jsonLone   `json:"only_new"`
	Sources  []jsonSource `json:"sources"`
	Tunes    []any        `json:"tunes"`
	Why      []string     `json:"why"`
	Notes    []string     `json:"notes"`
	Guards   []jsonGuard  `json:"guards"`
	Cautions []string     `json:"cautions"`
}

type jsonOrigin struct {
	Title    string `json:"title"`
	Kind     string `json:"kind"`
	Operand  string `json:"operand,omitempty"`
	Folder   string `json:"folder,omitempty"`
	Revision string `json:"revision,omitempty"`
	Dirty    bool   `json:"dirty,omitempty"`
	Digest   string `json:"digest,omitempty"`
	Compiler string `json:"compiler,omitempty"`
}

type jsonCounts struct {
	Pairs     int `json:"pairs"`
	Differ    int `json:"differ"`
	Beyond    int `json:"beyond"`
	Same      int `json:"same"`
	Renamed   int `json:"renamed"`
	OnlyOld   int `json:"only_old"`
	OnlyNew   int `json:"only_new"`
	FailedOld int `json:"failed_old"`
	FailedNew int `json:"failed_new"`
	Cells     int `json:"cells"`
	Looked    int `json:"looked"`
}

type jsonPolicy struct {
	Allow []string `json:"allow"`
	From  string   `json:"from,omitempty"`
	Cells int      `json:"cells"`
	Tunes int      `json:"tunes"`
}

type jsonSpike struct {
	Map        string   `json:"map"`
	Unit       string   `json:"unit"`
	At         string   `json:"at"`
	AtArgs     []string `json:"at_args"`
	Tune       string   `json:"tune"`
	Tunes      []string `json:"tunes"`
	Old        *float64 `json:"old"`
	New        *float64 `json:"new"`
	Change     *float64 `json:"change"`
	Share      *float64 `json:"share"`
	Neighbours *float64 `json:"neighbours"`
	Cells      int      `json:"cells"`
	Least      *float64 `json:"least,omitempty"`
	LeastShare *float64 `json:"least_share,omitempty"`
	By         string   `json:"by,omitempty"`
	Also       []string `json:"also"`
}

type jsonGroup struct {
	Tunes []string       `json:"tunes"`
	Worst string         `json:"worst"`
	Added bool           `json:"added,omitempty"`
	Maps  []jsonGroupMap `json:"maps"`
}

type jsonGroupMap struct {
	Map        string   `json:"map"`
	Unit       *string  `json:"unit"`
	ChangeUnit *string  `json:"change_unit"`
	Tunes      int      `json:"tunes"`
	Min        *float64 `json:"min"`
	Max        *float64 `json:"max"`
	MinShare   *float64 `json:"min_share"`
	MaxShare   *float64 `json:"max_share"`
	MinCells   int      `json:"min_cells"`
	MaxCells   int      `json:"max_cells"`
	Total      int      `json:"total"`
	By         []string `json:"by"`
}

type jsonChange struct {
	Kind     string     `json:"kind"`
	Name     string     `json:"name"`
	OldPlace *jsonPlace `json:"old_place,omitempty"`
	NewPlace *jsonPlace `json:"new_place,omitempty"`
	Why      string     `json:"why"`
	OldText  string     `json:"old_text,omitempty"`
	NewText  string     `json:"new_text,omitempty"`
	Tunes    int        `json:"tunes"`
	Maps     []string   `json:"maps"`
}

type jsonRename struct {
	Old     string `json:"old"`
	New     string `json:"new"`
	Changed bool   `json:"changed"`
}

type jsonLone struct {
	Name       string           `json:"name"`
	Why        string           `json:"why,omitempty"`
	Conditions []jsonCondition  `json:"conditions,omitempty"`
	Beside     string           `json:"beside,omitempty"`
	From       bool             `json:"from,omitempty"`
	But        []jsonDifference `json:"but,omitempty"`
	Maps       []jsonAddedMap   `json:"maps,omitempty"`
}

type jsonEdited struct {
	File string `json:"file"`
	Tune string `json:"tune,omitempty"`
	Side string `json:"side"`
}

type jsonCondition struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type jsonDifference struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	Beside string `json:"beside"`
}

type jsonAddedMap struct {
	Map   string   `json:"map"`
	Unit  string   `json:"unit"`
	Cells int      `json:"cells"`
	Total int      `json:"total"`
	Min   *float64 `json:"min"`
	Max   *float64 `json:"max"`
	MinSh *float64 `json:"min_share"`
	MaxSh *float64 `json:"max_share"`
	By    []string `json:"by"`
}

type jsonSource struct {
	Name    string     `json:"name"`
	OldName string     `json:"old_name,omitempty"`
	State   string     `json:"state"`
	Hunks   []jsonHunk `json:"hunks"`
}

type jsonHunk struct {
	Head     string   `json:"head"`
	Lines    []string `json:"lines"`
	Elements []string `json:"elements"`
	Old      [2]int   `json:"old"`
	New      [2]int   `json:"new"`
}

type jsonPlace struct {
	File string `json:"file"`
	Line int    `json:"line"`
}

// JSON writes a review as a JSON text that Schema describes.
func (r *Review) JSON() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(r.view()); err != nil {
		return nil, err
	}
	return laidOut(b.Bytes()), nil
}

func (r *Review) view() *jsonReview {
	c, h := r.Counts, r.Hidden
	out := &jsonReview{Schema: SchemaName, Differs: r.Differs(), Verdict: r.Verdict, Old: jsonOrigin(r.Old), New: jsonOrigin(r.New),
		Counts: jsonCounts{c.Pairs, c.Differ, c.Beyond, c.Same, c.Renamed, c.OldOnly, c.NewOnly, c.Failed[0], c.Failed[1], c.Cells, c.Looked},
		Policy: jsonPolicy{list(h.Policy), h.From, h.Cells, h.Tunes},
		Limits: []jsonMargin{}, Spikes: []jsonSpike{}, Groups: []jsonGroup{}, Elements: []jsonChange{}, Renamed: []jsonRename{},
		Edited: []jsonEdited{}, OnlyOld: lones(r.OldOnly, nil), OnlyNew: lones(r.NewOnly, r.findAdded), Sources: []jsonSource{}, Tunes: []any{},
		Guards: []jsonGuard{}, Why: list(r.whyCommands("")), Notes: list(r.Notes), Cautions: list(r.Cautions)}
	for _, m := range r.Limits {
		out.Limits = append(out.Limits, m.view())
	}
	for _, g := range r.Guards {
		out.Guards = append(out.Guards, jsonGuard{g.Kind, g.Name, g.Gone, g.Text[0], g.Text[1], placeView(g.Place[0]), placeView(g.Place[1])})
	}
	for _, s := range r.Spikes {
		out.Spikes = append(out.Spikes, s.view())
	}
	for _, g := range r.Groups {
		out.Groups = append(out.Groups, g.view())
	}
	for _, x := range r.Elements {
		out.Elements = append(out.Elements, jsonChange{x.Kind, x.Name, placeView(x.Places[0]), placeView(x.Places[1]), x.Why, x.Text[0], x.Text[1], x.Tunes, list(x.Maps)})
	}
	for _, x := range r.Edited {
		side := "old"
		if x.New {
			side = "new"
		}
		out.Edited = append(out.Edited, jsonEdited{x.File, x.Tune, side})
	}
	for _, x := range r.Renamed {
		out.Renamed = append(out.Renamed, jsonRename(x))
	}
	for _, f := range r.Sources {
		s := jsonSource{f.Name, f.OldName, f.State, []jsonHunk{}}
		for _, h := range f.Hunks {
			s.Hunks = append(s.Hunks, jsonHunk{h.Head, list(h.Lines), list(h.By), h.Old, h.New})
		}
		out.Sources = append(out.Sources, s)
	}
	entries := r.Entries
	if len(entries) == 0 && r.Only != nil {
		entries = []*Entry{r.Only}
	}
	for _, e := range entries {
		out.Tunes = append(out.Tunes, e.view(r.whyWorst("fettle", e)))
	}
	return out
}

// view is an entry's pair, with the cells marked that the policy allows.
func (e *Entry) view(why string) any {
	shown := map[*diff.MapDiff]map[int]bool{}
	for _, m := range e.Maps {
		cells := map[int]bool{}
		for _, i := range m.Shown {
			cells[i] = true
		}
		shown[m.Diff] = cells
	}
	return e.Pair.View(func(m *diff.MapDiff, cell int) bool { return !shown[m][cell] }, why)
}

func (s *Spike) view() jsonSpike {
	out := jsonSpike{Map: s.Map, Unit: s.Unit, At: s.At, AtArgs: list(s.AtArgs), Tune: s.Tune, Tunes: list(s.Tunes), Old: finite(s.Old), New: finite(s.New), Change: finite(s.Change),
		Neighbours: finite(s.Neighbours), Cells: max(1, s.Cells), Also: list(s.Also)}
	if s.HasShare {
		out.Share = finite(s.Share)
	}
	if s.Cells > 0 {
		out.Least = finite(s.Least)
		if s.HasShare {
			out.LeastShare = finite(s.LeastShare)
		}
	}
	if s.By != nil {
		out.By = s.By.Name
	}
	return out
}

func (g *Group) view() jsonGroup {
	out := jsonGroup{Tunes: []string{}, Worst: g.Worst.Name, Added: g.Worst.Beside != "", Maps: []jsonGroupMap{}}
	for _, e := range g.Entries {
		out.Tunes = append(out.Tunes, e.Name)
	}
	for _, m := range g.Maps {
		x := jsonGroupMap{Map: m.Map, Tunes: m.Tunes, Min: finite(m.Min), Max: finite(m.Max), MinCells: m.MinCells, MaxCells: m.MaxCells, Total: m.Total, By: []string{}}
		if m.HasUnit {
			x.Unit, x.ChangeUnit = &m.Unit, &m.ChangeUnit
		}
		if m.HasShare {
			x.MinShare, x.MaxShare = finite(m.MinShare), finite(m.MaxShare)
		}
		for _, e := range m.By {
			x.By = append(x.By, e.Name)
		}
		out.Maps = append(out.Maps, x)
	}
	return out
}

func lones(all []diff.Lone, find func(name string) *Added) []jsonLone {
	out := []jsonLone{}
	for _, l := range all {
		x := jsonLone{Name: l.Name, Why: l.Why}
		for _, c := range l.Conditions {
			x.Conditions = append(x.Conditions, jsonCondition(c))
		}
		if find != nil {
			if a := find(l.Name); a != nil {
				a.view(&x)
			}
		}
		out = append(out, x)
	}
	return out
}

// view adds what a tune that was added is beside another.
func (a *Added) view(x *jsonLone) {
	x.Beside, x.From = a.Beside, a.From
	for _, d := range a.But {
		x.But = append(x.But, jsonDifference{d.Name, d.New, d.Old})
	}
	if a.Entry == nil {
		return
	}
	for _, m := range a.Entry.Maps {
		if len(m.Diff.Cells) == 0 {
			continue
		}
		s := m.Diff.Summary
		one := jsonAddedMap{Map: m.Diff.Map, Unit: m.Diff.Unit, Cells: len(m.Diff.Cells), Total: m.Diff.Total, Min: finite(s.Min), Max: finite(s.Max), By: []string{}}
		if s.HasShare {
			one.MinSh, one.MaxSh = finite(s.MinShare), finite(s.MaxShare)
		}
		for _, e := range m.By {
			one.By = append(one.By, e.Name)
		}
		x.Maps = append(x.Maps, one)
	}
}

func placeView(s source.Span) *jsonPlace {
	if s.IsZero() {
		return nil
	}
	return &jsonPlace{s.File.Name, s.Line()}
}

// list is never null.
func list(all []string) []string { return append([]string{}, all...) }

// finite leaves out what JSON can't say.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
