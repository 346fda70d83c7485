package emit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
)

// The names of the two files that aren't tables.
const (
	tuneFile  = "tune.json"
	indexFile = "index.json"
)

// Digest is the digest of a tune as an index lists it: the SHA-256 of one line
// for each file of its folder and the folders in it, tables and tune.json, sorted
// by name: the file's own SHA-256 in hexadecimal, two spaces, its name, a line
// feed. It is what `find * -type f | LC_ALL=C sort | xargs sha256sum | sha256sum`
// prints in the tune's folder.
func Digest(files []File) string {
	lines := make([]string, len(files))
	for i, f := range files {
		lines[i] = f.Path + "\x00" + sum(f.Data)
	}
	slices.Sort(lines)
	h := sha256.New()
	for _, line := range lines {
		name, digest, _ := strings.Cut(line, "\x00")
		fmt.Fprintf(h, "%s  %s\n", digest, name)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// files gives every file of a tune's folder.
func files(in Input) ([]File, error) {
	var list []File
	var err error
	if in.WantsCSV() {
		if list, err = Tables(in); err != nil {
			return nil, err
		}
	}
	t, err := about(in, list)
	if err != nil {
		return nil, err
	}
	others, err := formatFiles(in, t)
	if err != nil {
		return nil, err
	}
	forTargets, err := targetFiles(in, t)
	if err != nil {
		return nil, err
	}
	manifest, err := Encode(t)
	if err != nil {
		return nil, err
	}
	return slices.Concat(list, others, forTargets, []File{{tuneFile, manifest}}), nil
}

// written is the entry of a tune whose files these are.
func written(in *Input, files []File) Entry {
	digest := Digest(files)
	return Entry{Name: in.Tune.Name, Status: Written, Conditions: conditions(in), Digest: &digest, SourceDigest: in.Source.Digest, Targets: targetStatus(in)}
}

// failed is the entry of a tune that isn't written.
func failed(in *Input) Entry {
	return Entry{Name: in.Tune.Name, Status: Failed, Conditions: conditions(in), SourceDigest: in.Source.Digest, Reasons: Reasons(*in)}
}

// add counts how a tune came out for targets, in the order in which they are met.
func (c *Counts) add(list []TargetStatus) {
	for _, s := range list {
		i := slices.IndexFunc(c.Targets, func(t TargetCounts) bool { return t.Name == s.Name })
		if i < 0 {
			i = len(c.Targets)
			c.Targets = append(c.Targets, TargetCounts{Name: s.Name})
		}
		if s.Status == Failed {
			c.Targets[i].Failed++
		} else {
			c.Targets[i].Written++
		}
	}
}

// index gives the bytes of an index.json.
func index(in *Input, entries []Entry, bundles []BundleEntry) ([]byte, error) {
	x := Index{Bundles: bundles, Schema: IndexVersion, Source: sourceInfo(in.Source), Compiler: in.Source.Version, Tunes: entries, Cautions: Cautions(in.Program)}
	for _, e := range entries {
		switch e.Status {
		case Written:
			x.Counts.Written++
		case Failed:
			x.Counts.Failed++
		case Kept:
			x.Counts.Kept++
		}
		x.Counts.add(e.Targets)
	}
	return Encode(&x)
}
