package diff

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"strings"

	"fettle/compiler/grid"
)

// The forms of the JSON files that build writes, as far as they are read here.
const (
	tuneForm  = "fettle/tune/1"
	indexForm = "fettle/index/1"
)

// tuneFile is what is read of a tune.json; whatever else it holds is passed
// over.
type tuneFile struct {
	Schema   string
	Name     string
	Compiler string
	Source   struct {
		Digest   string
		Revision *string
		Dirty    bool
	}
	Conditions []struct{ Name, Text string }
	Maps       []struct {
		Name, Unit, File string
		Resolution       *float64
		SHA256           string
	}
	Cautions []string
}

// indexFile is what is read of an index.json.
type indexFile struct {
	Schema string
	Tunes  []struct {
		Name, Status string
		Reasons      []string
	}
	Cautions []string
}

// FromCSV reads one table. The side and the map take the name; a blank cell is
// filled in as in a source's grid, and the table says so.
func FromCSV(name string, text []byte) (*Side, error) {
	t, err := readTable(name, text)
	if err != nil {
		return nil, err
	}
	t.Map = strings.TrimSuffix(path.Base(name), ".csv")
	return &Side{Name: name, Tables: []*Table{t}, single: true, file: true}, nil
}

func readTable(name string, text []byte) (*Table, error) {
	read, faults := grid.ReadCSV(text)
	if len(faults) > 0 {
		more := ""
		if n := len(faults) - 1; n > 0 {
			more = fmt.Sprintf(" (and %s)", counted(n, "more fault", "more faults"))
		}
		return nil, fmt.Errorf("%s: %v%s", name, faults[0], more)
	}
	in := &read.Table
	cells, from, bad, ok := grid.Fill(in.Rows, in.Cols, in.Cells, read.Given)
	if !ok {
		return nil, fmt.Errorf("%s: line %d has a blank cell with nothing to lean on: its row and its column are blank throughout",
			name, read.CellLine[bad/len(in.Cols)])
	}
	t := &Table{Cells: cells, Cols: Axis{read.ColHead.Name, read.ColHead.Unit, in.Cols}, Rows: Axis{read.RowHead.Name, read.RowHead.Unit, in.Rows}}
	blank := 0
	for _, f := range from {
		if f != nil {
			blank++
		}
	}
	if blank > 0 {
		t.Note = fmt.Sprintf("%s of %s filled in from the neighbours", counted(blank, "blank cell", "blank cells"), name)
	}
	t.uniform = writtenDecimals(text, blank > 0)
	return t, nil
}

// writtenDecimals is how many decimals all cells of a table have, 0 if they
// don't agree.
func writtenDecimals(text []byte, blanks bool) int {
	if blanks {
		return 0
	}
	records, _ := grid.Records(text)
	n := -1
	for _, rec := range records[1:] {
		for _, f := range rec[1:] {
			_, frac, _ := strings.Cut(strings.TrimSpace(f.Text), ".")
			if strings.ContainsAny(f.Text, "eE") || n >= 0 && len(frac) != n {
				return 0
			}
			n = len(frac)
		}
	}
	return max(n, 0)
}

// FromFolder reads what build wrote: every tune of a folder with an index.json,
// the one tune of a folder with a tune.json, or the CSV files of any other. A
// tune that the index lists as failed becomes a side without tables.
func FromFolder(fsys fs.FS) ([]*Side, error) {
	text, err := readPlain(fsys, "index.json")
	if err == nil {
		return fromIndex(fsys, text)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("index.json can't be read: %w", err)
	}
	s, err := fromTuneFolder(fsys, ".")
	if err == nil {
		s.single = true
		return []*Side{s}, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return fromPlainFolder(fsys)
}

func fromIndex(fsys fs.FS, text []byte) ([]*Side, error) {
	var index indexFile
	if err := readJSON("index.json", text, &index, func() (string, string) { return index.Schema, indexForm }); err != nil {
		return nil, err
	}
	out := []*Side{}
	for _, e := range index.Tunes {
		if e.Status == "failed" {
			for i, r := range e.Reasons {
				e.Reasons[i] = strings.TrimPrefix(r, e.Name+": ") // it is named already
			}
			out = append(out, &Side{Name: e.Name, Failed: "failed: " + strings.Join(e.Reasons, "; "), Cautions: index.Cautions})
			continue
		}
		if !fs.ValidPath(e.Name) {
			return nil, fmt.Errorf("index.json: `%s` isn't a tune's name", e.Name)
		}
		s, err := fromTuneFolder(fsys, e.Name)
		if err != nil {
			return nil, err
		}
		s.Name = e.Name
		out = append(out, s)
	}
	return out, nil
}

// fromTuneFolder reads a tune.json and the tables that it lists.
func fromTuneFolder(fsys fs.FS, dir string) (*Side, error) {
	name := path.Join(dir, "tune.json")
	text, err := readPlain(fsys, name)
	if err != nil {
		return nil, fmt.Errorf("%s can't be read: %w", name, err)
	}
	var tune tuneFile
	if err := readJSON(name, text, &tune, func() (string, string) { return tune.Schema, tuneForm }); err != nil {
		return nil, err
	}
	s := &Side{Name: tune.Name, Tables: []*Table{}, Cautions: tune.Cautions}
	s.Build = Build{Digest: tune.Source.Digest, Dirty: tune.Source.Dirty, Compiler: tune.Compiler}
	if tune.Source.Revision != nil {
		s.Build.Revision = *tune.Source.Revision
	}
	for _, c := range tune.Conditions {
		s.Conditions = append(s.Conditions, Condition{c.Name, c.Text})
	}
	for _, m := range tune.Maps {
		if m.File == "" {
			return nil, fmt.Errorf("%s was built without CSV tables, and those are compared: build it again with `--format csv`", name)
		}
		if m.File == "" || path.Base(m.File) != m.File {
			return nil, fmt.Errorf("%s: `%s` isn't the name of a file beside it", name, m.File)
		}
		file := path.Join(dir, m.File)
		text, err := readPlain(fsys, file)
		if err != nil {
			return nil, errors.New(file + " can't be read: " + plainCause(err)) // not the same as no tune.json
		}
		t, err := readTable(file, text)
		if err != nil {
			return nil, err
		}
		t.Map, t.Unit, t.HasUnit = m.Name, m.Unit, true
		if sum := sha256.Sum256(text); m.SHA256 != "" && !strings.EqualFold(m.SHA256, hex.EncodeToString(sum[:])) {
			s.Edited = append(s.Edited, file)
		}
		if m.Resolution != nil {
			if t.Res, err = grid.NewRes(strconv.FormatFloat(*m.Resolution, 'f', -1, 64)); err != nil {
				return nil, fmt.Errorf("%s: map `%s`: %w", name, m.Name, err)
			}
		}
		s.Tables = append(s.Tables, t)
	}
	return s, nil
}

// fromPlainFolder reads a folder's CSV files, by name.
func fromPlainFolder(fsys fs.FS) ([]*Side, error) {
	names, err := fs.Glob(fsys, "*.csv")
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, errors.New("no index.json, tune.json or CSV table in the folder")
	}
	s := &Side{single: true}
	for _, name := range names {
		text, err := readPlain(fsys, name)
		if err != nil {
			return nil, errors.New(name + " can't be read: " + plainCause(err))
		}
		one, err := FromCSV(name, text)
		if err != nil {
			return nil, err
		}
		s.Tables = append(s.Tables, one.Tables...)
	}
	return []*Side{s}, nil
}

func readJSON(name string, text []byte, into any, form func() (got, want string)) error {
	if err := json.Unmarshal(text, into); err != nil {
		return fmt.Errorf("%s isn't what build writes: %v", name, err)
	}
	if got, want := form(); got != want {
		return fmt.Errorf("%s is of the form `%s`, and `%s` is read", name, got, want)
	}
	return nil
}

func plainCause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return err.Error()
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// readPlain reads a plain file; opening a pipe would wait for somebody to write.
func readPlain(fsys fs.FS, name string) ([]byte, error) {
	st, err := fs.Stat(fsys, name)
	if err == nil && !st.Mode().IsRegular() {
		err = &fs.PathError{Op: "read", Path: name, Err: errors.New("not a plain file")}
	}
	if err != nil {
		return nil, err
	}
	return fs.ReadFile(fsys, name)
}
