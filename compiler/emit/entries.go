package emit

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// The entries of an index wait in a file of the new folder, laid out, until the
// index is written: a large build has many, and what stands before them in the
// index counts them.

// indexed is the entry of one tune, laid out as it stands in an index.
type indexed struct {
	name, status string
	targets      []TargetStatus
	text         []byte
}

// indexed lays an entry out.
func (e *Entry) indexed() (indexed, error) {
	w := newWriter(make([]byte, 0, 1024))
	w.depth = 2 // in the list in the index
	w.block('{')
	w.field("name", e.Name)
	w.field("status", e.Status)
	w.conditions(e.Conditions)
	w.key("digest")
	if e.Digest == nil {
		w.raw("null")
	} else {
		w.text(*e.Digest)
	}
	w.field("source_digest", e.SourceDigest)
	if len(e.Reasons) > 0 {
		w.key("reasons")
		w.texts(e.Reasons)
	}
	if len(e.Targets) > 0 {
		w.key("targets")
		w.any(e.Targets)
	}
	w.endBlock('}')
	return indexed{e.Name, e.Status, e.Targets, w.b}, w.err
}

// entries are the tunes of an output, in the order of its index.
type entries struct {
	path string
	file *os.File
	w    *bufio.Writer
	size int64
	list []waiting
}

// waiting is an entry, and where its text is in the file.
type waiting struct {
	name, status string
	targets      []TargetStatus
	at           int64
	size         int
}

// add puts an entry after the others.
func (s *entries) add(e indexed) error {
	if s.file == nil {
		var err error
		if s.file, err = os.OpenFile(s.path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666); err != nil {
			return err
		}
		s.w = bufio.NewWriterSize(s.file, 1<<16)
	}
	if _, err := s.w.Write(e.text); err != nil {
		return err
	}
	s.list = append(s.list, waiting{e.name, e.status, e.targets, s.size, len(e.text)})
	s.size += int64(len(e.text))
	return nil
}

// counts counts the entries.
func (s *entries) counts() Counts {
	var c Counts
	for _, e := range s.list {
		switch e.status {
		case Written:
			c.Written++
		case Failed:
			c.Failed++
		case Kept:
			c.Kept++
		}
		c.add(e.targets)
	}
	return c
}

// copy writes the entries as the members of a list.
func (s *entries) copy(out *bufio.Writer) error {
	if s.file == nil {
		return nil
	}
	if err := s.w.Flush(); err != nil {
		return err
	}
	if _, err := s.file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	// They are read in the order of the file but for those of a build that keeps some.
	in, at := bufio.NewReaderSize(s.file, 1<<16), int64(0)
	for i, e := range s.list {
		if e.at != at {
			if _, err := s.file.Seek(e.at, io.SeekStart); err != nil {
				return err
			}
			in.Reset(s.file)
		}
		if i > 0 {
			_ = out.WriteByte(',')
		}
		_, _ = out.WriteString(spaces[:5])
		if _, err := io.CopyN(out, in, int64(e.size)); err != nil {
			return err
		}
		at = e.at + int64(e.size)
	}
	return nil
}

// close removes the file.
func (s *entries) close() {
	if s != nil && s.file != nil {
		_ = s.file.Close()
		_ = os.Remove(s.path)
		s.file = nil
	}
}

// enter adds an entry.
func (f *Folder) enter(e indexed) error {
	if err := f.entries.add(e); err != nil {
		return cant(filepath.Join(f.shown, indexFile), "written", err)
	}
	return nil
}

// index writes the index.json: what stands before the tunes, the tunes, the rest.
func (f *Folder) index(<-chan struct{}) error {
	in := f.first
	w := newWriter(nil)
	w.block('{')
	w.field("schema", IndexVersion)
	info := sourceInfo(in.Source)
	w.source(&info)
	w.field("compiler", in.Source.Version)
	w.key("counts")
	w.any(f.entries.counts())
	w.key("tunes")
	w.block('[')
	if err := f.put(indexFile, w.b); err != nil {
		return err
	}
	w.b, w.first = w.b[:0], len(f.entries.list) == 0
	w.endBlock(']')
	if len(f.bundles) > 0 {
		w.key("bundles")
		w.any(f.bundles)
	}
	w.key("cautions")
	w.texts(Cautions(in.Program))
	w.endBlock('}')
	w.b = append(w.b, '\n')
	if w.err != nil {
		return w.err
	}
	size, err := f.entries.into(filepath.Join(f.tmp, indexFile), w.b)
	if err != nil {
		return cant(filepath.Join(f.shown, indexFile), "written", err)
	}
	f.sum.Bytes += size
	f.entries.close()
	f.stays = f.unchanged()
	return nil
}

// into adds the entries to a file that is there, and what comes after them.
func (s *entries) into(path string, after []byte) (int64, error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return 0, err
	}
	before, err := file.Seek(0, io.SeekEnd)
	if err == nil {
		out := bufio.NewWriterSize(file, 1<<16)
		err = s.copy(out)
		_, _ = out.Write(after)
		err = errors.Join(err, out.Flush())
	}
	size, err2 := file.Seek(0, io.SeekEnd)
	return size - before, errors.Join(err, err2, file.Close())
}
