package git

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"time"
)

// The rest of an fs.FS: what is asked of a name once it is found.

// Open implements fs.FS.
func (t *Tree) Open(name string) (fs.File, error) {
	e, err := t.at("open", name)
	if err != nil {
		return nil, err
	}
	if e.kind == isFolder {
		list, err := t.entries(e)
		if err != nil {
			return nil, &fs.PathError{Op: "open", Path: name, Err: err}
		}
		return &folder{info{e, 0}, name, list}, nil
	}
	i, data, err := t.read(e)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return &file{i, bytes.NewReader(data)}, nil
}

// Stat implements fs.StatFS.
func (t *Tree) Stat(name string) (fs.FileInfo, error) {
	e, err := t.at("stat", name)
	if err != nil {
		return nil, err
	}
	return t.info(name, e)
}

func (t *Tree) info(name string, e entry) (fs.FileInfo, error) {
	if e.kind == isFolder || e.kind == isModule {
		return info{e, 0}, nil
	}
	o, err := t.objects.ask(e.hash)
	if err != nil {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: err}
	}
	return info{e, o.size}, nil
}

// ReadFile implements fs.ReadFileFS.
func (t *Tree) ReadFile(name string) ([]byte, error) {
	e, err := t.at("read", name)
	if err != nil {
		return nil, err
	}
	_, data, err := t.read(e)
	if err != nil {
		return nil, &fs.PathError{Op: "read", Path: name, Err: err}
	}
	return bytes.Clone(data), nil
}

// ReadDir implements fs.ReadDirFS.
func (t *Tree) ReadDir(name string) ([]fs.DirEntry, error) {
	e, err := t.at("readdir", name)
	if err != nil {
		return nil, err
	}
	list, err := t.entries(e)
	if err != nil {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: err}
	}
	return list, nil
}

// read gives a file's bytes, which are not to be changed.
func (t *Tree) read(e entry) (info, []byte, error) {
	switch e.kind {
	case isFolder:
		return info{}, nil, fmt.Errorf("it is a folder")
	case isModule:
		return info{}, nil, errModule
	}
	o, err := t.objects.ask(e.hash)
	if err == nil && o.data == nil {
		err = fmt.Errorf("it has %d bytes; the most that is read is %d", o.size, MaxBlob)
	}
	return info{e, o.size}, o.data, err
}

func (t *Tree) entries(e entry) ([]fs.DirEntry, error) {
	switch e.kind {
	case isModule:
		return nil, errModule
	case isFolder:
	default:
		return nil, errNotFolder
	}
	list, err := t.list(e.hash)
	if err != nil {
		return nil, err
	}
	out := make([]fs.DirEntry, len(list))
	for i, e := range list {
		out[i] = dirEntry{t, e}
	}
	return out, nil
}

// dirEntry is a name in a folder; a link is itself here, not what it leads to.
type dirEntry struct {
	t *Tree
	e entry
}

func (d dirEntry) Name() string               { return d.e.name }
func (d dirEntry) IsDir() bool                { return d.e.kind == isFolder }
func (d dirEntry) Type() fs.FileMode          { return info{d.e, 0}.Mode().Type() }
func (d dirEntry) Info() (fs.FileInfo, error) { return d.t.info(d.e.name, d.e) }
func (d dirEntry) String() string             { return fs.FormatDirEntry(d) }

type info struct {
	e    entry
	size int64
}

func (i info) Name() string       { return i.e.name }
func (i info) Size() int64        { return i.size }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return i.e.kind == isFolder }
func (i info) Sys() any           { return nil }
func (i info) String() string     { return fs.FormatFileInfo(i) }

func (i info) Mode() fs.FileMode {
	switch i.e.kind {
	case isProgram:
		return 0o555
	case isFolder:
		return fs.ModeDir | 0o555
	case isLink:
		return fs.ModeSymlink | 0o777
	case isModule:
		return fs.ModeIrregular
	}
	return 0o444
}

type file struct {
	info
	*bytes.Reader
}

func (f *file) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *file) Close() error               { return nil }
func (f *file) Size() int64                { return f.info.size }

type folder struct {
	info
	name string
	rest []fs.DirEntry
}

func (f *folder) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *folder) Close() error               { return nil }

func (f *folder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: f.name, Err: fmt.Errorf("it is a folder")}
}

// ReadDir implements fs.ReadDirFile.
func (f *folder) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 {
		n = len(f.rest)
	} else if len(f.rest) == 0 {
		return nil, io.EOF
	}
	n = min(n, len(f.rest))
	out := f.rest[:n]
	f.rest = f.rest[n:]
	return out, nil
}
