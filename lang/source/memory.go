package source

import (
	"io"
	"io/fs"
	"path"
	"strings"
	"time"
)

// Memory is a folder of texts in memory, by slash-separated name.
type Memory map[string]string

// Open implements fs.FS.
func (m Memory) Open(name string) (fs.File, error) {
	text, ok := m[name]
	if !ok || !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &memoryFile{strings.NewReader(text), path.Base(name), int64(len(text))}, nil
}

type memoryFile struct {
	io.Reader
	name string
	size int64
}

func (f *memoryFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *memoryFile) Close() error               { return nil }
func (f *memoryFile) Name() string               { return f.name }
func (f *memoryFile) Size() int64                { return f.size }
func (f *memoryFile) Mode() fs.FileMode          { return 0o444 }
func (f *memoryFile) ModTime() time.Time         { return time.Time{} }
func (f *memoryFile) IsDir() bool                { return false }
func (f *memoryFile) Sys() any                   { return nil }
