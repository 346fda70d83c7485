package compiler

import (
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// A process that lives on, and one that looks at several versions of a workspace,
// opens much the same again: the last programs that had no faults are kept, and
// where only cells changed since one, check makes the new one of it.

const maxPrograms = 3

var checked struct {
	sync.Mutex
	programs []*check.Program // the last one first
}

// checkProgram is check.Run, by a shorter way if there is one.
func checkProgram(rp *resolve.Program, errs *diag.List) *check.Program {
	if errs.HasErrors() {
		return check.Run(rp, errs)
	}
	checked.Lock()
	before := checked.programs
	checked.Unlock()
	for _, old := range before {
		if p := check.Again(old, rp); p != nil {
			keepProgram(p, old)
			return p
		}
	}
	p := check.Run(rp, errs)
	if !errs.HasErrors() {
		keepProgram(p, nil)
	}
	return p
}

// keepProgram keeps a program in the place of the one it was made of.
func keepProgram(p, old *check.Program) {
	checked.Lock()
	defer checked.Unlock()
	list := []*check.Program{p}
	for _, other := range checked.programs {
		if other != old && len(list) < maxPrograms {
			list = append(list, other)
		}
	}
	checked.programs = list
}
