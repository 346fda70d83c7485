package review

type jsonMargin struct {
	Change   string     `json:"change"`
	Kind     string     `json:"kind"`
	Name     string     `json:"name"`
	Mode     string     `json:"mode,omitempty"`
	OldText  string     `json:"old_text,omitempty"`
	NewText  string     `json:"new_text,omitempty"`
	OldPlace *jsonPlace `json:"old_place,omitempty"`
	NewPlace *jsonPlace `json:"new_place,omitempty"`
	Before   *jsonState `json:"before"`
	After    *jsonState `json:"after"`
	AsItWas  *jsonState `json:"as_it_was,omitempty"`
	Tune     string     `json:"tune"`
	Tunes    []string   `json:"tunes"`
	By       string     `json:"by,omitempty"`
	ByPlace  *jsonPlace `json:"by_place,omitempty"`
	Breaks   int        `json:"breaks,omitempty"`
	Unlooked int        `json:"unlooked,omitempty"`
	Alike    bool       `json:"alike,omitempty"`
	Moved    *jsonMoved `json:"moved,omitempty"`
	Due      []jsonDue  `json:"due,omitempty"`
}

type jsonMoved struct {
	At     string   `json:"at,omitempty"`
	AtArgs []string `json:"at_args"`
	Was    *float64 `json:"was"`
	Is     *float64 `json:"is"`
	Unit   string   `json:"unit"`
}

type jsonDue struct {
	Name     string     `json:"name"`
	Why      string     `json:"why"`
	OldPlace *jsonPlace `json:"old_place,omitempty"`
	NewPlace *jsonPlace `json:"new_place,omitempty"`
}

type jsonGuard struct {
	Kind     string     `json:"kind"`
	Name     string     `json:"name"`
	Gone     bool       `json:"gone,omitempty"`
	OldText  string     `json:"old_text,omitempty"`
	NewText  string     `json:"new_text,omitempty"`
	OldPlace *jsonPlace `json:"old_place,omitempty"`
	NewPlace *jsonPlace `json:"new_place,omitempty"`
}

type jsonState struct {
	State   string   `json:"state"`
	At      string   `json:"at,omitempty"`
	AtArgs  []string `json:"at_args,omitempty"`
	Margin  *float64 `json:"margin,omitempty"`
	Value   *float64 `json:"value,omitempty"`
	Bound   *float64 `json:"bound,omitempty"`
	Op      string   `json:"op,omitempty"`
	Unit    string   `json:"unit"`
	Cells   int      `json:"cells"`
	Looked  int      `json:"looked"`
	Problem string   `json:"problem,omitempty"`
}

func (m *Margin) view() jsonMargin {
	kind := "limit"
	switch {
	case m.Check:
		kind = "check"
	case m.Fault:
		kind = "tune"
	case m.Proof:
		kind = "proof"
	}
	out := jsonMargin{m.Kind, kind, m.Name, m.Mode, m.Text[0], m.Text[1], placeView(m.Place[0]), placeView(m.Place[1]), m.Before.view(), m.After.view(), m.AsItWas.view(),
		m.Tune, list(m.Tunes), m.By, placeView(m.ByAt), m.Breaks, m.Unlooked, m.Alike, nil, nil}
	if x := m.Moved; x != nil {
		out.Moved = &jsonMoved{x.At, list(x.AtArgs), finite(x.Was), finite(x.Is), x.Unit}
	}
	for _, c := range m.Due {
		out.Due = append(out.Due, jsonDue{c.Name, c.Why, placeView(c.Places[0]), placeView(c.Places[1])})
	}
	return out
}

func (s *State) view() *jsonState {
	if s == nil {
		return nil
	}
	out := &jsonState{State: s.Word, At: s.At, AtArgs: s.AtArgs, Op: s.Op, Unit: s.Unit, Cells: s.Cells, Looked: s.Looked, Problem: s.Problem}
	if s.HasMargin {
		out.Margin = finite(s.Margin)
	}
	if s.HasMargin && !s.Whole || s.HasValues {
		out.Value, out.Bound = finite(s.Value), finite(s.Bound)
	}
	return out
}
