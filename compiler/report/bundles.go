package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"fettle/compiler/bundle"
	"fettle/compiler/check"
	"fettle/compiler/plan"
)

// BundleSummary is how a bundle came out.
type BundleSummary struct {
	Name    string        `json:"name"`
	Target  string        `json:"target,omitempty"`
	Status  string        `json:"status"` // holds or fails
	Slots   []BundleSlot  `json:"slots"`
	Reasons []string      `json:"reasons,omitempty"`
	Jumps   []JumpSummary `json:"jumps"`
}

// BundleSlot is a place of a switch.
type BundleSlot struct {
	Slot int    `json:"slot"`
	Tune string `json:"tune"`
}

// JumpSummary is how far a table differs from slot to slot.
type JumpSummary struct {
	Table   string     `json:"table"`
	Map     string     `json:"map"`
	Unit    string     `json:"unit"`
	Allowed string     `json:"allowed,omitempty"`
	Largest float64    `json:"largest"`
	Share   *float64   `json:"share,omitempty"` // of the smaller value, where that isn't 0
	Slots   [2]int     `json:"slots"`
	Values  [2]float64 `json:"values"`
	At      string     `json:"at"`
	Points  int        `json:"points"`
	Past    int        `json:"past"`
	size    string
	from    string
	to      string
}

// ListedBundle is a bundle with its slots.
type ListedBundle struct {
	Name    string       `json:"name"`
	Target  string       `json:"target,omitempty"`
	Differs []string     `json:"differs"`
	Slots   []BundleSlot `json:"slots"`
	Doc     string       `json:"doc,omitempty"`
	Place   string       `json:"place"`
}

// AddBundle notes how a bundle came out.
func (v *Verdicts) AddBundle(o *bundle.Outcome) {
	s := BundleSummary{Name: o.Bundle.Spec.Name, Target: targetOf(o.Bundle), Status: "holds", Slots: slotsOf(o.Bundle), Jumps: []JumpSummary{}}
	if o.Fails() {
		s.Status, s.Reasons = "fails", o.Reasons(v.prog)
		v.failedBundles++
	}
	for i := range o.Jumps {
		j := &o.Jumps[i]
		one := JumpSummary{Table: j.Table, Map: j.Map, Unit: j.Unit, Largest: j.Size, Slots: [2]int{j.Slots[0] + 1, j.Slots[1] + 1}, Values: j.Values,
			At: j.PlaceText(), Points: j.Points, Past: j.Past, size: brief(j.Size, j.DifferenceUnit())}
		if share := j.Share(); !math.IsInf(share, 0) {
			one.Share = &share
			if j.Allowed != nil && j.Allowed.Share {
				one.size = brief(share*100, "%")
			}
		}
		if j.Allowed != nil {
			one.Allowed = j.Allowed.Text
		}
		if j.Unit == "%" && (j.Allowed == nil || !j.Allowed.Share) {
			one.size = brief(j.Size, "") + map[bool]string{true: " point", false: " points"}[j.Size == 1]
		}
		one.from, one.to = withUnit(j.Values[0], j.Unit), withUnit(j.Values[1], j.Unit)
		s.Jumps = append(s.Jumps, one)
	}
	v.Bundles = append(v.Bundles, s)
}

// Fails says that a tune fails, on its own or for a target, or a bundle.
func (v *Verdicts) Fails() bool { return len(v.Failed)+len(v.FailedFor)+v.failedBundles > 0 }

func targetOf(b *plan.Bundle) string {
	if b.Spec.Target == nil {
		return ""
	}
	return b.Spec.Target.Name
}

func slotsOf(b *plan.Bundle) []BundleSlot {
	out := make([]BundleSlot, len(b.Tunes))
	for i, t := range b.Tunes {
		out[i] = BundleSlot{i + 1, t.Name}
	}
	return out
}

// forBundles prints the bundles that fail.
func (v *Verdicts) forBundles(w io.Writer, opt Options) {
	var list []FailedTune
	for _, b := range v.Bundles {
		if len(b.Reasons) > 0 {
			list = append(list, FailedTune{"bundle " + b.Name, b.Reasons})
		}
	}
	v.tunes(w, opt, list, "fails", 20)
}

// bundles prints how far the tables of each bundle jump.
func (v *Verdicts) bundles(w io.Writer) {
	for _, b := range v.Bundles {
		fmt.Fprintf(w, "bundle %s%s %s: %s\n", b.Name, forTarget(b.Target), b.Status, slotsText(b.Slots))
		if len(b.Jumps) > 0 {
			tw := newWriter()
			tw.AppendHeader(table.Row{"table", "map", "a switch changes it by", "may", "from", "to", "where"})
			still := 0
			for _, j := range b.Jumps {
				if j.Largest == 0 && j.Allowed == "" {
					still++
					continue
				}
				row := table.Row{j.Table, j.Map, j.size, j.Allowed}
				if j.Largest > 0 {
					from, to := j.from, j.to
					if len(b.Slots) > 2 {
						from, to = fmt.Sprintf("%s in %d", from, j.Slots[0]), fmt.Sprintf("%s in %d", to, j.Slots[1])
					}
					row = append(row, from, to, j.At)
				}
				tw.AppendRow(row)
			}
			if still < len(b.Jumps) {
				render(tw, w)
			}
			if still > 0 {
				fmt.Fprintf(w, "  a switch doesn't change %s\n", Count(still, "table"))
			}
		}
		fmt.Fprintln(w)
	}
}

func forTarget(name string) string {
	if name == "" {
		return ""
	}
	return " for " + name
}

func slotsText(list []BundleSlot) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = fmt.Sprintf("%d = %s", s.Slot, s.Tune)
	}
	return strings.Join(out, ", ")
}

// listBundles lists the bundles of a plan.
func listBundles(p *plan.Plan) []ListedBundle {
	var out []ListedBundle
	for _, b := range p.Bundles {
		out = append(out, ListedBundle{Name: b.Spec.Name, Target: targetOf(b), Slots: slotsOf(b), Doc: b.Spec.Doc, Place: b.Spec.Span.String(),
			Differs: namesOf(b.Spec.Differs, func(d check.Differing) string { return p.Program.Givens[d.Given].Name })})
	}
	return out
}

// bundles prints the bundles of a list.
func (l *List) bundles(w io.Writer) {
	for _, b := range l.Bundles {
		fmt.Fprintf(w, "Bundle %s%s: %s; in %s/%s.\n", b.Name, forTarget(b.Target), slotsText(b.Slots), check.BundlesFolder, b.Name)
	}
}
