// Package emit turns a judged tune into the bytes that a build writes, and puts
// them in a folder that is replaced as a whole or not at all.
//
// How it goes. CSV for each map's table is written here (csv.go); every other
// format is given by the caller as a function from a tune to files (formats.go).
// tune.json says what the tables are (manifest.go, verdicts.go), and those of
// each target (targets.go); bundle.json what a switch selects among (bundle.go);
// index.json lists every tune (index.go, entries.go);
// and in words, why a tune isn't written (reasons.go), what to know of one
// that is (warnings.go), and what could be proved of its limits (proofs.go). The JSON types stand in model.go, their published
// schemas in schema/, and a reader of both in read.go. All of it follows the
// order of the source and rounds what it prints, so the same source gives the
// same bytes on every machine.
//
// What is the same for every tune of a program is worked out and laid out once
// (fixed.go); the rest of a tune.json is written without reflection (writer.go,
// encode.go), and is held by a test to what encoding/json gives.
//
// A Folder (folder.go) makes tunes' files in a new folder beside the old output
// (place.go, io_*.go), several at once, and takes them one by one, under a lock
// (lock_*.go). An old output in which anything stands that no build wrote is
// refused (ours.go). Closing it notes the tunes that a partial build keeps of the
// old output (keep.go), writes the index, links what stands as it was (same.go),
// sees that all of it is on the disk, and exchanges the two folders (swap*.go). If
// nothing differs, the old output stays. Until that exchange the old output stands
// untouched, whatever goes wrong.
//
// In: check.Program, plan.Tune, eval.Result, limit's verdicts. Out: files.
// Imported by the compiler, diff and cmd.
package emit

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/compiler/target"
)

// Source says which source was compiled, and by what.
type Source struct {
	Digest   string // SHA-256 of every text that the tunes depend on
	Revision string // of git; "" where there is none
	Dirty    bool   // the work tree differs from that revision
	Version  string // of the compiler
}

// Input is one computed and judged tune.
type Input struct {
	Program *check.Program
	Tune    *plan.Tune
	Result  *eval.Result
	Limits  []*limit.Verdict
	Checks  []*limit.Outcome
	Proofs  []*prove.Verdict // of the limits that are proved over a range and apply
	Source  Source
	Targets []*target.Outcome
	Formats []Format // nil: CSV alone
	Slot    int      // of a bundle that this is written for, from 1; 0: of none
	fixed   *fixed
}

// File is one file of a tune's folder.
type File struct {
	Path string // within the tune's folder
	Data []byte
}

// Fails says that nothing of the tune may be written.
func (in *Input) Fails() bool {
	if in.Result.Fault != nil {
		return true
	}
	for _, v := range in.Limits {
		if v.State == limit.Fails {
			return true
		}
	}
	if len(refuted(in.Proofs)) > 0 {
		return true
	}
	for _, c := range in.Checks {
		if !c.OK {
			return true
		}
	}
	return false
}
