package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
)

// contentTypes is the part that lists the others; excelize writes it in random
// order.
const contentTypes = "[Content_Types].xml"

var typeEntry = regexp.MustCompile(`<(?:Default|Override)\b[^>]*(?:/>|></(?:Default|Override)>)`)

// repack packs a workbook's parts again: in a fixed order and without times. By
// part and cell, exact is what a cell's number is to be.
func repack(data []byte, exact map[string]map[string]string) ([]byte, error) {
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	files := slices.Clone(in.File)
	slices.SortFunc(files, func(a, b *zip.File) int {
		switch {
		case a.Name == b.Name:
			return 0
		case a.Name == contentTypes:
			return -1 // readers want it first
		case b.Name == contentTypes:
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range files {
		r, err := f.Open()
		if err != nil {
			return nil, err
		}
		part, err := io.ReadAll(r)
		if err != nil {
			return nil, err
		}
		if f.Name == contentTypes {
			if part, err = sortTypes(part); err != nil {
				return nil, err
			}
		}
		if numbers := exact[f.Name]; len(numbers) > 0 {
			part = putNumbers(part, numbers)
		}
		to, err := w.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Deflate})
		if err != nil {
			return nil, err
		}
		if _, err := to.Write(part); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

var (
	cellOpen  = []byte(`<c r="`)
	valueOpen = []byte("<v>")
	valueEnd  = []byte("</v>")
)

// putNumbers puts numbers in the place of the values of their cells.
func putNumbers(part []byte, numbers map[string]string) []byte {
	out := make([]byte, 0, len(part)+8*len(numbers))
	for {
		at := bytes.Index(part, cellOpen)
		if at < 0 {
			return append(out, part...)
		}
		at += len(cellOpen)
		out, part = append(out, part[:at]...), part[at:]
		text, ok := numbers[string(part[:max(0, bytes.IndexByte(part, '"'))])]
		if !ok {
			continue
		}
		from, to := bytes.Index(part, valueOpen)+len(valueOpen), bytes.Index(part, valueEnd)
		out = append(append(out, part[:from]...), text...)
		part = part[to:]
	}
}

// sortTypes puts the entries of the list of content types in order.
func sortTypes(part []byte) ([]byte, error) {
	at := typeEntry.FindAllIndex(part, -1)
	if len(at) == 0 {
		return nil, fmt.Errorf("%s lists nothing", contentTypes)
	}
	entries := make([]string, len(at))
	for i, span := range at {
		entries[i] = string(part[span[0]:span[1]])
		if i > 0 && span[0] != at[i-1][1] {
			return nil, fmt.Errorf("%s isn't a plain list", contentTypes)
		}
	}
	slices.Sort(entries)
	first, last := at[0][0], at[len(at)-1][1]
	return slices.Concat(part[:first], []byte(strings.Join(entries, "")), part[last:]), nil
}
