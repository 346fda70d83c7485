package emit

import (
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
	sums := make([]string, len(files))
	for i, f := range files {
		sums[i] = sum(f.Data)
	}
	return digest(files, sums)
}

// digest is Digest where each file's own digest is known.
func digest(files []File, sums []string) string {
	order := make([]int, len(files))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return strings.Compare(files[i].Path, files[j].Path) })
	lines := make([]byte, 0, 256)
	for _, i := range order {
		lines = append(lines, sums[i]...)
		lines = append(lines, "  "...)
		lines = append(lines, files[i].Path...)
		lines = append(lines, '\n')
	}
	return sum(lines)
}

// scratch is what a tune's files are made in, so that the next tune's may be made
// in the same memory.
type scratch struct {
	list       []File // every file of the tune's folder
	sums       []string
	conditions []Condition
	text, json []byte
	same       []bool // files that the old output has
	read       []byte
}

func (s *scratch) add(path string, data []byte) {
	s.list = append(s.list, File{path, data})
	s.sums = append(s.sums, sum(data))
}

// files gives every file of a tune's folder.
func files(in Input) ([]File, error) {
	var s scratch
	err := s.files(&in)
	return s.list, err
}

// files makes every file of a tune's folder.
func (s *scratch) files(in *Input) error {
	s.list, s.sums, s.text = s.list[:0], s.sums[:0], s.text[:0]
	if in.WantsCSV() {
		if err := s.tables(in); err != nil {
			return err
		}
	}
	t, err := about(in, s.list, s.sums)
	if err != nil {
		return err
	}
	s.conditions = t.Conditions
	others, err := formatFiles(*in, &t.Tune)
	if err != nil {
		return err
	}
	forTargets, err := targetFiles(*in, &t.Tune)
	if err != nil {
		return err
	}
	for _, list := range [][]File{others, forTargets} {
		for _, f := range list {
			s.add(f.Path, f.Data)
		}
	}
	if s.json, err = t.encode(s.json[:0]); err != nil {
		return err
	}
	s.add(tuneFile, s.json)
	return nil
}

// written is the entry of a tune whose files these are.
func (s *scratch) written(in *Input) Entry {
	digest := digest(s.list, s.sums)
	return Entry{Name: in.Tune.Name, Status: Written, Conditions: s.conditions, Digest: &digest, SourceDigest: in.Source.Digest, Targets: targetStatus(in)}
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
