package plan

import (
	"strings"

	"fettle/compiler/check"
	"fettle/lang/source"
)

// folders looks at the members of matrices, whose names become those of folders
// and come from rows and values. No two of them are alike but for capitals, which
// don't count on some systems: names are in small letters, no two units differ in
// capitals alone, and values of a setting differ.
func (x *expander) folders() {
	for _, t := range x.p.Tunes {
		if _, member, ok := strings.Cut(t.Name, "/"); ok && source.IsDevice(member) {
			check.TellDevice(x.errs, member, t.Variant.Span)
			return
		}
	}
}
