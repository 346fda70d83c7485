package review

import (
	"slices"
	"strings"

	"fettle/lang/diag"
)

// whyCommands are the commands that explain the worst cells: of the worst limit
// that newly fails, of the worst cell that sticks out; where there is neither,
// of the worst change.
func (r *Review) whyCommands(call string) []string {
	if call == "" {
		call = "fettle"
	}
	var out []string
	add := func(cmd string) {
		if cmd != "" && !slices.Contains(out, cmd) {
			out = append(out, cmd)
		}
	}
	for _, m := range r.kind(NewlyFails, Loosened, NewlyWarns) {
		if name, at := m.cell(); name != "" {
			add(r.whyCommand(call, m.Entry.newName(), name, at))
			break
		}
	}
	if len(r.Spikes) > 0 {
		s := r.Spikes[0]
		name := s.Tune
		if s.Entry != nil {
			name = s.Entry.newName()
		}
		add(r.whyCommand(call, name, s.Map, s.AtArgs))
	}
	for _, g := range r.Groups {
		if len(out) == 0 {
			add(r.whyWorst(call, g.Worst))
		}
	}
	return out
}

// whyWorst explains the worst cell of an entry that is shown; "" where there is
// none.
func (r *Review) whyWorst(call string, e *Entry) string {
	m, c := e.shown().Worst()
	if m == nil {
		return ""
	}
	return r.whyCommand(call, e.newName(), m.Map, m.AtArgs(c))
}

// whyCommand explains a cell of the new side; "" where that isn't computed from a
// source, or a name can't stand in a command.
func (r *Review) whyCommand(call, tune, mapName string, at []string) string {
	switch {
	case r.New.built():
		return ""
	case r.New.Folder != "":
		if call = InFolder(call, r.New.Folder); call == "" {
			return ""
		}
	case r.New.Kind == KindRevision:
		rev, _, _ := strings.Cut(r.New.Operand, ":")
		if !plainArg(rev) {
			rev = r.New.Revision
		}
		tune = rev + ":" + tune
	}
	list := append([]string{tune, mapName}, at...)
	for _, x := range list {
		if !plainArg(x) {
			return ""
		}
	}
	return call + " why " + strings.Join(list, " ")
}

// InFolder is a call that is made in another workspace's folder; "" where that
// can't be said.
func InFolder(call, folder string) string {
	if strings.Contains(call, " ") || !plainArg(folder) {
		return ""
	}
	return call + " -C " + folder
}

// newName is what an entry's tune is called on the new side.
func (e *Entry) newName() string {
	if e.Pair != nil && e.Pair.New != nil {
		return e.Pair.New.Name
	}
	return e.Name
}

// cell is the worst cell of a limit on the new side, as `why` takes it; "" where
// it has none.
func (m *Margin) cell() (mapName string, at []string) {
	if m.Entry == nil || m.Entry.Pair == nil || m.new == nil || m.new.Limit == nil || m.After == nil || len(m.After.AtArgs) == 0 {
		return "", nil
	}
	side := m.Entry.Pair.New
	if side == nil || side.Program == nil || len(m.new.Limit.Maps) == 0 {
		return "", nil
	}
	p := side.Program.Check
	cm := p.Maps[m.new.Limit.Maps[0]]
	for _, a := range cm.Axes {
		for _, x := range m.After.AtArgs {
			if strings.HasPrefix(x, p.Axes[a].Name+"=") {
				at = append(at, x)
			}
		}
	}
	if len(at) != len(cm.Axes) {
		return "", nil
	}
	return cm.Name, at
}

// plainArg says whether an argument can stand in a command as it is.
func plainArg(s string) bool {
	if s == "" || s[0] == '-' {
		return false
	}
	for i, r := range s {
		if !isWordRune(r) && !(r == '~' && i > 0) && !strings.ContainsRune("_./=+-,%:^", r) {
			return false
		}
	}
	return true
}

// diffCommand asks for this comparison again.
func (r *Review) diffCommand(call string) string {
	if call == "" {
		call = "fettle"
	}
	out := call + " diff"
	for _, o := range []string{r.Old.Operand, r.New.Operand} {
		if o == "" {
			continue
		}
		word := shellWord(o)
		if word == "" {
			return call + " diff"
		}
		out += " " + word
	}
	return out
}

// shellWord is an argument as it is typed, in quotes where it has to be; "" for
// one that had better not be typed.
func shellWord(s string) string {
	switch {
	case plainArg(s):
		return s
	case s[0] == '-' || len(s) > mostForeign || strings.ContainsAny(s, "'`\\") || s != diag.Clean(s):
		return ""
	}
	return "'" + s + "'"
}
