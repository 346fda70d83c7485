package sides

import (
	"os"
	"path/filepath"

	"fettle/compiler/review"
)

// oneTable finds the tune that a table is compared with, where the other side is
// not one tune: the only one that has a map of that name.
func oneTable(old, new *review.Side) error {
	for _, p := range [][2]*review.Side{{old, new}, {new, old}} {
		file, many := p[0], p[1]
		if file.Origin.Kind != review.KindFile || many.Single {
			continue
		}
		name := file.Tables[0].Tables[0].Map
		found := tunesWith(many, name)
		switch len(found) {
		case 0:
			return wrong("%s is one table, called as a map %s, which no tune of %s has: name the file of the table to compare it with", file.Origin.Title, name, many.Origin.Title)
		case 1:
			only(many, found[0])
		default:
			return wrong("%s is one table, and %d tunes of %s have a map %s: name the one to compare it with, as in `fettle diff %s`",
				file.Origin.Title, len(found), many.Origin.Title, name, example(p[0] == old, file, many, found[0]))
		}
	}
	return nil
}

// tunesWith names the tunes of a side that have a map.
func tunesWith(s *review.Side, name string) (out []string) {
	for _, t := range s.Tables {
		for _, m := range t.Tables {
			if m.Map == name {
				out = append(out, t.Name)
				break
			}
		}
	}
	if s.Program != nil {
		for _, m := range s.Program.Maps {
			if m.Name == name {
				for _, t := range s.Tunes {
					out = append(out, t.Name)
				}
			}
		}
	}
	return out
}

// only leaves one tune on a side.
func only(s *review.Side, name string) {
	s.Single = true
	for _, t := range s.Tables {
		if t.Name == name {
			s.Tables = s.Tables[:0:0]
			s.Tables = append(s.Tables, t)
			break
		}
	}
	for _, t := range s.Tunes {
		if t.Name == name {
			s.Tunes = s.Tunes[:0:0]
			s.Tunes = append(s.Tunes, t)
			break
		}
	}
}

// example is the operands with the tune named.
func example(fileFirst bool, file, many *review.Side, tune string) string {
	switch many.Origin.Kind {
	case review.KindRevision:
		tune = many.Origin.Operand + ":" + tune
	case review.KindFolder:
		if at := filepath.Join(many.Origin.Operand, filepath.FromSlash(tune)); isDir(at) {
			tune = at
		}
	}
	if fileFirst {
		return file.Origin.Operand + " " + tune
	}
	return tune + " " + file.Origin.Operand
}

func isDir(name string) bool {
	st, err := os.Stat(name)
	return err == nil && st.IsDir()
}
