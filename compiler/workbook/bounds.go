package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
)

// The bounds of someone else's workbook. A few bytes of a zip archive can stand
// for gigabytes, and each small element of a part costs many times its size when
// it is read, so both are counted by unpacking piece by piece before the reader of
// workbooks sees the file. What the archive says of its own sizes isn't believed.
const (
	MaxParts    = 2000      // files in the archive
	MaxUnpacked = 64 << 20  // bytes of all parts
	MaxTags     = 3_000_000 // in all parts; a cell with its value has four
)

// tooLarge says which bound a workbook passes. It is an ErrTooLarge.
type tooLarge struct{ what string }

func (e *tooLarge) Error() string        { return e.what }
func (e *tooLarge) Is(target error) bool { return target == ErrTooLarge }

func bounded(data []byte) error {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil // whoever opens it says what is wrong
	}
	if len(z.File) > MaxParts {
		return &tooLarge{fmt.Sprintf("has %d parts, and the most that are read is %d", len(z.File), MaxParts)}
	}
	unpacked, tags := 0, 0
	buf := make([]byte, 64<<10)
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			return fmt.Errorf("its part %.100q can't be unpacked: %w", part.Name, err)
		}
		for err == nil {
			var n int
			n, err = r.Read(buf)
			unpacked += n
			tags += bytes.Count(buf[:n], []byte{'<'})
			if tags > MaxTags {
				r.Close()
				return &tooLarge{fmt.Sprintf("has over %d tags in its parts, the most that are read", MaxTags)}
			}
			if unpacked > MaxUnpacked {
				r.Close()
				return &tooLarge{fmt.Sprintf("unpacks to over %d MB, the most that is read", MaxUnpacked>>20)}
			}
		}
		r.Close()
		if err != io.EOF {
			return fmt.Errorf("its part %.100q can't be unpacked: %w", part.Name, err)
		}
	}
	return nil
}
