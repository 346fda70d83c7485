//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

package source

import (
	"errors"
	"io/fs"
	"os"
)

// lockDraft has no lock to take.
func lockDraft(*os.File) error { return errors.ErrUnsupported }

// keepOwner does nothing: a new file belongs to whoever writes it.
func keepOwner(*os.File, fs.FileInfo) {}
