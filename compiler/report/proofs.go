package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
)

// ProofSummary is what could be proved of a limit over its range, over all tunes.
type ProofSummary struct {
	For       string   `json:"for"`
	Proved    int      `json:"proved"` // tunes
	Undecided int      `json:"undecided"`
	Refuted   int      `json:"refuted"`
	Tune      string   `json:"tune,omitempty"`   // with the least certain room, or where it is refuted by most
	At        string   `json:"at,omitempty"`     // the conditions and the place that refute it there
	Margin    *float64 `json:"margin,omitempty"` // certain everywhere in that tune; of what is refuted, at that place
	Unit      string   `json:"unit,omitempty"`
	Text      string   `json:"text,omitempty"`
	state     prove.State
	share     float64
	room      string
}

// any says whether the limit was to be proved for some tune.
func (s *ProofSummary) any() bool { return s != nil && s.Proved+s.Undecided+s.Refuted > 0 }

// AddProofs notes what could be proved of the limits of a tune.
func (v *Verdicts) AddProofs(t *plan.Tune, proofs []*prove.Verdict) {
	for _, p := range proofs {
		s := v.Limits[p.Limit.Index].Proof
		switch p.State {
		case prove.Refuted:
			s.Refuted++
		case prove.Undecided:
			s.Undecided++
		default:
			s.Proved++
		}
		share := math.Inf(-1) // nothing is certain of it
		switch {
		case emit.HasRoom(p) && p.Bound != 0:
			share = p.Margin / math.Abs(p.Bound)
		case emit.HasRoom(p):
			share = p.Margin
		case p.State == prove.Proved:
			share = math.Inf(1)
		}
		if s.Tune != "" && (p.State < s.state || p.State == s.state && !(share < s.share-tie)) {
			continue
		}
		s.Tune, s.At, s.Margin, s.Unit, s.state, s.share, s.room = t.Name, "", nil, "", p.State, share, strings.TrimPrefix(emit.ProvedRoom(p), "with ")
		s.Text = emit.ProofText(v.prog, p)
		if p.State == prove.Refuted {
			s.At, s.room = emit.RefutedAt(v.prog, p), ""
		}
		if emit.HasRoom(p) {
			margin := emit.ProvedMargin(p)
			s.Margin, s.Unit = &margin, p.Unit.Difference().Text
			if p.State == prove.Refuted {
				s.room = withUnit(-margin, s.Unit) + " past it"
			}
		}
	}
}

// proofs prints what could be proved of each limit that has a range.
func (v *Verdicts) proofs(w io.Writer) {
	tw := newWriter()
	tw.AppendHeader(table.Row{"limit", "everywhere for", "", "least", "where"})
	n := 0
	for i := range v.Limits {
		l := &v.Limits[i]
		s := l.Proof
		if !s.any() {
			continue
		}
		n++
		state := "proved"
		switch {
		case s.Refuted > 0:
			state = fmt.Sprintf("REFUTED in %d", s.Refuted)
		case s.Undecided > 0:
			state = fmt.Sprintf("undecided in %d", s.Undecided)
		}
		where := s.Tune
		if s.At != "" {
			where += ", " + s.At
		}
		tw.AppendRow(table.Row{l.Name, s.For, state, s.room, where})
	}
	if n > 0 {
		render(tw, w)
		fmt.Fprintln(w)
	}
}
