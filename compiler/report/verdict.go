package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/explain"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/unit"
)

// Verdicts gathers what a run over tunes found.
type Verdicts struct {
	Schema string         `json:"schema"`
	Tunes  int            `json:"tunes"`
	Holds  int            `json:"holds"`
	Failed []FailedTune   `json:"failed"`
	Warned []FailedTune   `json:"warned"`
	Filled []FilledMap    `json:"filled"` // blank cells that were filled in
	Limits []LimitSummary `json:"limits"`
	Checks int            `json:"checks"` // expected values looked at
	Maps   int            `json:"maps"`
	Rules  int            `json:"rules"`
	Cells  int            `json:"cells"` // of all tunes
	// How the tunes that hold came out for each target, and those that fail for one.
	Targets       []TargetSummary `json:"targets,omitempty"`
	FailedFor     []FailedFor     `json:"failed_for,omitempty"`
	WarnedFor     []FailedFor     `json:"warned_for,omitempty"` // that warn on the tables alone
	Bundles       []BundleSummary `json:"bundles,omitempty"`
	failedBundles int
	Said          []string `json:"cautions"`
	prog          *check.Program
	worst         map[warnedOf]worstWarning
	worstFor      map[[2]int]worstWarning // by target and limit
	Ask           string                  `json:"-"` // the arguments of the `why` that explains the worst failure
	askFor        float64
}

// FilledMap is a map whose base has blank cells.
type FilledMap struct {
	Map   string `json:"map"`
	Cells int    `json:"cells"`
}

// warnedOf is what a limit warns of: a cell, or that it isn't proved.
type warnedOf struct {
	limit int
	proof bool
}

// worstWarning is the tune in which a limit that warns is passed farthest.
type worstWarning struct {
	tune, text string
	size       float64
	tunes      int // that it warns in; of a target's
}

// FailedTune is a tune that fails, or that holds with warnings.
type FailedTune struct {
	Name    string   `json:"name"`
	Reasons []string `json:"reasons"`
}

// LimitSummary is how near a limit came over all tunes.
type LimitSummary struct {
	Name    string   `json:"name"`
	Text    string   `json:"text"`
	Mode    string   `json:"mode"`
	Applies int      `json:"applies"` // tunes it looks at
	Fails   int      `json:"fails"`
	Warns   int      `json:"warns"`
	Clamped int      `json:"clamped"`
	Tune    string   `json:"tune,omitempty"` // of the nearest cell
	At      string   `json:"at,omitempty"`
	Value   *float64 `json:"value,omitempty"`
	Bound   *float64 `json:"bound,omitempty"`
	Margin  *float64 `json:"margin,omitempty"`
	Unit    string   `json:"unit,omitempty"`
	Place   string   `json:"place"`
	// Of a limit with a range over which it is proved.
	Proof *ProofSummary `json:"proof,omitempty"`
	share float64
}

// tie is a difference of margins, as shares of their bounds, that float noise can
// make: the first tune in order counts then.
const tie = 1e-12

// NewVerdicts begins a gathering for a program.
func NewVerdicts(p *check.Program) *Verdicts {
	v := &Verdicts{Schema: "fettle/check/1", Failed: []FailedTune{}, Warned: []FailedTune{}, Limits: []LimitSummary{}, prog: p, Maps: len(p.Maps), Rules: len(p.Rules),
		Filled: []FilledMap{}, Said: notNil(p.Cautions), worst: map[warnedOf]worstWarning{}, worstFor: map[[2]int]worstWarning{}}
	for _, m := range p.Maps {
		n := 0
		for _, given := range m.Given {
			if !given {
				n++
			}
		}
		if n > 0 {
			v.Filled = append(v.Filled, FilledMap{m.Name, n})
		}
	}
	for _, l := range p.Limits {
		s := LimitSummary{Name: l.Name, Text: l.Text, Mode: l.Mode.String(), Place: l.Span.String(), share: math.Inf(1)}
		if l.For != nil {
			s.Proof = &ProofSummary{For: l.ForText, share: math.Inf(1)}
		}
		v.Limits = append(v.Limits, s)
	}
	return v
}

// Add notes a judged tune; reasons say why it fails, if it does, and warnings
// what is to be said of one that holds.
func (v *Verdicts) Add(t *plan.Tune, limits []*limit.Verdict, checks []*limit.Outcome, reasons []string, warnings []emit.Warned) {
	v.Tunes++
	v.Checks += len(checks)
	for _, m := range v.prog.Maps {
		v.Cells += max(1, len(m.Base.Rows)) * len(m.Base.Cols)
	}
	for i, r := range reasons {
		reasons[i] = strings.TrimPrefix(r, t.Name+": ")
	}
	if len(reasons) > 0 {
		v.Failed = append(v.Failed, FailedTune{t.Name, reasons})
	} else {
		v.Holds++
		if len(warnings) > 0 {
			f := FailedTune{Name: t.Name}
			for _, w := range warnings {
				f.Reasons = append(f.Reasons, w.Text)
				key := warnedOf{w.Limit.Index, w.Proof}
				if have, ok := v.worst[key]; !ok || w.Size > have.size+float64(tie*math.Abs(have.size)) {
					v.worst[key] = worstWarning{tune: t.Name, text: w.Text, size: w.Size}
				}
			}
			v.Warned = append(v.Warned, f)
		}
	}
	v.ask(t, limits)
	for _, d := range limits {
		s := &v.Limits[d.Limit.Index]
		switch d.State {
		case limit.NotHere:
			continue
		case limit.Fails:
			s.Fails++
		case limit.Warns:
			s.Warns++
		case limit.Clamped:
			s.Clamped++
		}
		s.Applies++
		if !d.HasMargin || d.At == nil {
			continue
		}
		// The nearest is the one with the least room for the size of its bound.
		share := d.Margin
		if d.Bound != 0 {
			share = d.Margin / math.Abs(d.Bound)
		}
		if share < s.share-tie {
			value, bound, margin := d.Value, d.Bound, d.Margin
			s.share, s.Tune, s.At, s.Value, s.Bound, s.Margin, s.Unit = share, t.Name, v.prog.PlaceText(d.Limit.Axes, d.At), &value, &bound, &margin, d.Unit.Text
		}
	}
}

// ask notes how to ask for the chain of the worst failing cell.
func (v *Verdicts) ask(t *plan.Tune, limits []*limit.Verdict) {
	for _, d := range limits {
		if d.State != limit.Fails || !d.HasMargin || d.At == nil {
			continue
		}
		size := -d.Margin / math.Max(math.Abs(d.Bound), math.SmallestNonzeroFloat64)
		if v.Ask != "" && size <= v.askFor {
			continue
		}
		m := v.prog.Maps[bounded(d.Limit)]
		text := t.Name + " " + m.Name
		for _, a := range m.Axes {
			for i, have := range d.Limit.Axes {
				if have == a {
					text += " " + v.prog.Axes[a].Name + "=" + grid.Res{}.Format(d.At[i])
				}
			}
		}
		v.Ask, v.askFor = text, size
	}
}

// bounded is the map that a limit is about: the first that its text names.
func bounded(l *check.Limit) int {
	best, at := l.Maps[0], math.MaxInt
	l.Cond.Walk(func(n *formula.Node) {
		if n.Maps != 0 && len(n.Kids) == 0 && n.Span.From < at {
			best, at = n.A, n.Span.From
		}
	})
	return best
}

func withUnit(x float64, text string) string { return unit.With(grid.Res{}.Format(x), text) }

// Text prints the failures first, then how near each limit came, then the sum.
func (v *Verdicts) Text(w io.Writer, opt Options) {
	if v.Tunes == 0 {
		fmt.Fprintln(w, "The source declares no variant, so there is nothing to look at: write `variant bench { }`.")
	}
	v.tunes(w, opt, v.Failed, "fails", 20)
	v.forTargets(w, opt)
	v.forBundles(w, opt)
	v.warnings(w)
	v.warningsFor(w)
	if len(v.Limits) > 0 && v.Tunes > 0 {
		v.limits(w)
		v.proofs(w)
	}
	v.targets(w)
	v.bundles(w)
	fmt.Fprintf(w, "%s: %d hold, %d fail", Count(v.Tunes, "tune"), v.Holds, len(v.Failed))
	if len(v.Warned) > 0 {
		fmt.Fprintf(w, ", %d of those that hold with a warning", len(v.Warned))
	}
	if n := v.failedForSome(); n > 0 {
		fmt.Fprintf(w, ", %d of those that hold %s for a target", n, map[bool]string{true: "fails", false: "fail"}[n == 1])
	}
	fmt.Fprintf(w, ". %s, %s, %s, %s; %d cells.\n", Count(v.Maps, "map"), Count(v.Rules, "rule"), Count(len(v.Limits), "limit"), Count(v.Checks, "expected value"), v.Cells)
	for _, f := range v.Filled {
		fmt.Fprintf(w, "%s of the base of %s filled in from the neighbours.\n", Count(f.Cells, "blank cell"), f.Map)
	}
	Cautions(w, v.prog)
}

// Cautions prints the sentences that every output of a source carries.
func Cautions(w io.Writer, p *check.Program) {
	for _, c := range p.Cautions {
		fmt.Fprintf(w, "caution: %s\n", c)
	}
}

func (v *Verdicts) tunes(w io.Writer, opt Options, list []FailedTune, what string, most int) {
	for i, f := range list {
		if i == most {
			fmt.Fprintf(w, "… and %d more; `--json` has them all\n", len(list)-most)
			break
		}
		name := f.Name
		if opt.Color {
			name = "\x1b[1m" + name + "\x1b[0m"
		}
		fmt.Fprintf(w, "%s %s\n", name, what)
		for _, r := range f.Reasons {
			fmt.Fprintf(w, "  %s\n", strings.ReplaceAll(r, "\n", "\n  "))
		}
	}
	if len(list) > 0 {
		fmt.Fprintln(w)
	}
}

// warnings prints, for each limit that warns, the tune in which it is passed
// farthest.
func (v *Verdicts) warnings(w io.Writer) {
	for i := range v.Limits {
		l := &v.Limits[i]
		if worst, ok := v.worst[warnedOf{i, false}]; ok {
			fmt.Fprintf(w, "limit %s %s in %s; the farthest, in %s:\n  %s\n", l.Name, map[string]string{"clamp": "moved cells"}[l.Mode]+map[string]string{"warn": "warns"}[l.Mode],
				Count(l.Warns+l.Clamped, "tune"), worst.tune, worst.text)
		}
		if worst, ok := v.worst[warnedOf{i, true}]; ok {
			fmt.Fprintf(w, "limit %s isn't proved for %s; the worst, %s:\n  %s\n", l.Name, Count(l.Proof.Undecided+l.Proof.Refuted, "tune"), worst.tune, worst.text)
		}
	}
	if len(v.worst) > 0 {
		fmt.Fprintln(w)
	}
}

func (v *Verdicts) limits(w io.Writer) {
	tw := newWriter()
	tw.AppendHeader(table.Row{"limit", "", "nearest", "bound", "room", "where"})
	for _, i := range v.order() {
		l := v.Limits[i]
		state := "holds"
		switch {
		case l.Applies == 0 && l.Proof.any():
			state = "only over its range"
		case l.Applies == 0:
			state = "never looked at"
		case l.Fails > 0:
			state = fmt.Sprintf("FAILS in %d", l.Fails)
		case l.Warns > 0:
			state = fmt.Sprintf("warns in %d", l.Warns)
		case l.Clamped > 0:
			state = fmt.Sprintf("clamps in %d", l.Clamped)
		}
		row := table.Row{l.Name, state}
		if l.Margin != nil {
			row = append(row, withUnit(*l.Value, l.Unit), withUnit(*l.Bound, l.Unit), explain.Room(*l.Margin, l.Unit), l.Tune+", "+l.At)
		}
		tw.AppendRow(row)
	}
	render(tw, w)
	fmt.Fprintln(w)
}

// order puts the worst limit first.
func (v *Verdicts) order() []int {
	out := make([]int, len(v.Limits))
	for i := range out {
		out[i] = i
	}
	rank := func(l *LimitSummary) int {
		switch {
		case l.Fails > 0:
			return 0
		case l.Warns > 0:
			return 1
		case l.Clamped > 0:
			return 2
		case l.Applies == 0:
			return 4
		}
		return 3
	}
	for i := 1; i < len(out); i++ {
		for j := i; j > 0; j-- {
			a, b := &v.Limits[out[j-1]], &v.Limits[out[j]]
			if rank(a) < rank(b) || rank(a) == rank(b) && a.share <= b.share {
				break
			}
			out[j-1], out[j] = out[j], out[j-1]
		}
	}
	return out
}
