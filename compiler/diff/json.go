package diff

import "fettle/lang/source"

// The form of what follows is in the schema of a review's JSON, of which a pair
// is a part.

type jsonPair struct {
	Old        string          `json:"old"`
	New        string          `json:"new"`
	Differs    bool            `json:"differs"`
	Conditions []jsonCondition `json:"conditions"`
	Maps       []jsonMap       `json:"maps"`
	OnlyOld    []string        `json:"only_old"`
	OnlyNew    []string        `json:"only_new"`
	Attributed bool            `json:"attributed"`
	Elements   []jsonElement   `json:"elements"`
	Why        string          `json:"why,omitempty"`
}

type jsonCondition struct {
	Name string `json:"name"`
	Old  string `json:"old"`
	New  string `json:"new"`
}

type jsonElement struct {
	Kind       string          `json:"kind"`
	Name       string          `json:"name"`
	Place      *jsonPlace      `json:"place,omitempty"`
	OldPlace   *jsonPlace      `json:"old_place,omitempty"` // of two programs
	Applies    string          `json:"applies"`
	Why        string          `json:"why"`
	Conditions []jsonCondition `json:"conditions"`
	Members    []string        `json:"members,omitempty"`
	Effect     string          `json:"effect"`
}

type jsonPlace struct {
	File string `json:"file"`
	Line int    `json:"line"`
}

type jsonAxis struct {
	Name string `json:"name"`
	Unit string `json:"unit"`
}

type jsonMap struct {
	Map        string       `json:"map"`
	Unit       *string      `json:"unit"`
	State      string       `json:"state"`
	Problem    string       `json:"problem,omitempty"`
	Notes      []string     `json:"notes"`
	Axes       []jsonAxis   `json:"axes"`
	Total      int          `json:"total"`
	Differing  int          `json:"differing"`
	Allowed    int          `json:"allowed,omitempty"` // of them
	ChangeUnit *string      `json:"change_unit"`
	Summary    *jsonSummary `json:"summary"`
	Cells      []jsonCell   `json:"cells"`
}

type jsonSummary struct {
	Min        float64     `json:"min"`
	Max        float64     `json:"max"`
	Mean       float64     `json:"mean"`
	MinShare   *float64    `json:"min_share"`
	MaxShare   *float64    `json:"max_share"`
	MeanShare  *float64    `json:"mean_share"`
	Worst      []jsonPoint `json:"worst"`
	WorstShare []jsonPoint `json:"worst_by_share"`
	Clamps     []jsonClamp `json:"clamps"`
}

type jsonClamp struct {
	Limit string     `json:"limit"`
	Place *jsonPlace `json:"place,omitempty"`
	In    string     `json:"in"`
}

type jsonPoint struct {
	Axis  string  `json:"axis"`
	Value float64 `json:"value"`
}

type jsonCell struct {
	At      []float64  `json:"at"`
	Old     float64    `json:"old"`
	New     float64    `json:"new"`
	Change  float64    `json:"change"`
	Exact   float64    `json:"exact_change"`
	Share   *float64   `json:"share"`
	Allowed bool       `json:"allowed,omitempty"`
	Parts   []jsonPart `json:"parts"`
}

type jsonPart struct {
	Element int     `json:"element"`
	Change  float64 `json:"change"`
	Exact   float64 `json:"exact_change"`
}

// View is a pair as a value for JSON; allowed says of which cells the change is
// allowed, or is nil; why is the command that explains the worst cell, or "".
func (p *Pair) View(allowed func(m *MapDiff, cell int) bool, why string) any {
	out := jsonPair{Old: p.Old.Name, New: p.New.Name, Differs: p.Differs(), Conditions: conditionViews(p.Conditions), Maps: []jsonMap{},
		OnlyOld: append([]string{}, p.OldOnly...), OnlyNew: append([]string{}, p.NewOnly...), Attributed: p.Attributed, Elements: []jsonElement{}}
	index := map[*Element]int{}
	add := func(e *Element, effect string) {
		if _, ok := index[e]; !ok {
			index[e] = len(out.Elements)
			out.Elements = append(out.Elements, e.view(effect))
		}
	}
	for _, m := range p.Maps {
		for _, part := range m.Parts {
			add(part.Element, "part")
		}
	}
	for _, i := range p.Idle {
		if i.Undone {
			add(i.Element, "unprinted")
		} else {
			add(i.Element, "none")
		}
	}
	for _, m := range p.Maps {
		out.Maps = append(out.Maps, m.view(index, allowed))
	}
	out.Why = why
	return out
}

func conditionViews(list []ConditionDiff) []jsonCondition {
	out := []jsonCondition{}
	for _, d := range list {
		out = append(out, jsonCondition(d))
	}
	return out
}

func (e *Element) view(effect string) jsonElement {
	out := jsonElement{Kind: e.Kind, Name: e.Name, Place: placeView(e.Place), OldPlace: placeView(e.Places[0]), Applies: e.Applies, Why: e.Why, Conditions: conditionViews(e.Conditions), Effect: effect}
	for _, m := range e.Members {
		out.Members = append(out.Members, m.Name)
	}
	return out
}

func placeView(s source.Span) *jsonPlace {
	if s.IsZero() {
		return nil
	}
	return &jsonPlace{s.File.Name, s.Line()}
}

func (m *MapDiff) view(index map[*Element]int, allowed func(m *MapDiff, cell int) bool) jsonMap {
	out := jsonMap{Map: m.Map, State: "equal", Problem: m.Problem, Notes: append([]string{}, m.Notes...), Axes: []jsonAxis{}, Total: m.Total,
		Differing: len(m.Cells), Cells: []jsonCell{}}
	if m.HasUnit {
		out.Unit, out.ChangeUnit = &m.Unit, &m.ChangeUnit
	}
	for _, a := range []Axis{m.Rows, m.Cols} {
		if a.Points != nil {
			out.Axes = append(out.Axes, jsonAxis{a.Name, a.Unit})
		}
	}
	switch {
	case m.Problem != "":
		out.State = "incomparable"
		return out
	case m.Reshaped != "":
		out.State, out.Problem = "reshaped", m.Reshaped
		return out
	case len(m.Cells) == 0:
		return out
	}
	out.State = "differs"
	s := m.Summary
	points := func(c CellDiff) (list []jsonPoint) {
		for k, x := range m.coordinates(c) {
			list = append(list, jsonPoint{out.Axes[k].Name, x})
		}
		return list
	}
	out.Summary = &jsonSummary{Min: s.Min, Max: s.Max, Mean: s.Mean, Worst: points(m.Cells[s.Worst]), Clamps: []jsonClamp{}}
	if s.HasShare {
		out.Summary.WorstShare = points(m.Cells[s.WorstShare])
		out.Summary.MinShare, out.Summary.MaxShare, out.Summary.MeanShare = &s.MinShare, &s.MaxShare, &s.MeanShare
	}
	for _, c := range m.Clamps {
		out.Summary.Clamps = append(out.Summary.Clamps, jsonClamp{c.Limit, placeView(c.Place), c.In})
	}
	for i, c := range m.Cells {
		isAllowed := allowed != nil && allowed(m, i)
		if isAllowed {
			out.Allowed++
		}
		cell := jsonCell{Allowed: isAllowed, At: m.coordinates(c), Old: c.Old, New: c.New, Change: c.Change, Exact: c.Exact, Parts: []jsonPart{}}
		if c.HasShare {
			cell.Share = &c.Share
		}
		for _, p := range m.Parts {
			if p.Exact[i] != 0 || p.Printed[i] != 0 {
				cell.Parts = append(cell.Parts, jsonPart{index[p.Element], p.Printed[i], p.Exact[i]})
			}
		}
		out.Cells = append(out.Cells, cell)
	}
	return out
}

// coordinates are a cell's, the row's first.
func (m *MapDiff) coordinates(c CellDiff) []float64 {
	if m.Rows.Points == nil {
		return []float64{m.Cols.Points[c.Col]}
	}
	return []float64{m.Rows.Points[c.Row], m.Cols.Points[c.Col]}
}
