package form

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"

	"fettle/compiler/emit"
	"fettle/compiler/table"
)

// ImageVersion is the version of image.json.
const ImageVersion = "fettle/image/1"

// ImageSchema is the JSON Schema of image.json.
//
//go:embed schema/image.schema.json
var ImageSchema string

// The two files of an image.
const (
	imageFile    = "image.bin"
	imageMapFile = "image.json"
)

// Image is an image.json: what stands where in image.bin.
type Image struct {
	Schema string       `json:"schema"`
	Tune   string       `json:"tune"`
	Target string       `json:"target,omitempty"`
	File   string       `json:"file"`
	Bytes  int          `json:"bytes"`
	SHA256 string       `json:"sha256"`
	Tables []ImageTable `json:"tables"`
}

// ImageTable is one table of an image: its cells, row by row, at the offset. Of
// a stored table value = offset_value + raw * step; a map without a storage is
// kept as f64, with a step of 1.
type ImageTable struct {
	Name        string      `json:"name"`
	Map         string      `json:"map"`
	Unit        string      `json:"unit"`
	Offset      int         `json:"offset"`
	Bytes       int         `json:"bytes"`
	Shape       []int       `json:"shape"`
	Type        string      `json:"type"`
	Step        emit.Number `json:"step"`
	OffsetValue emit.Number `json:"offset_value"`
	ByteOrder   string      `json:"byte_order"`
	Axes        []ImageAxis `json:"axes"`
}

// ImageAxis is where an axis's breakpoints stand, in the table's byte order.
type ImageAxis struct {
	Name   string `json:"name"`
	Unit   string `json:"unit"`
	Offset int    `json:"offset"`
	Count  int    `json:"count"`
	Type   string `json:"type"` // f64
}

// image writes the raw values of every table and a map of them. Each table's
// axes come before its cells, and every list begins at a multiple of the size of
// its numbers; zeros fill the gaps.
func image(c *emit.Content) ([]emit.File, error) {
	var raw []byte
	out := Image{Schema: ImageVersion, Tune: c.About.Name, Target: c.Target, File: imageFile, Tables: []ImageTable{}}
	for i := range c.Tables {
		t := &c.Tables[i]
		one := ImageTable{Name: t.Name, Map: t.Map, Unit: t.Unit, Type: "f64", Step: 1, ByteOrder: byteOrder(false)}
		var order binary.AppendByteOrder = binary.LittleEndian
		if s := t.Storage; s != nil {
			one.Type, one.Step, one.OffsetValue, one.ByteOrder = string(s.Type), emit.Number(s.Step), emit.Number(s.Offset), byteOrder(s.Big)
			if s.Big {
				order = binary.BigEndian
			}
		}
		for _, a := range t.Axes() {
			raw = align(raw, 8)
			one.Axes = append(one.Axes, ImageAxis{a.Name, a.Unit, len(raw), len(a.Points), "f64"})
			one.Shape = append(one.Shape, len(a.Points))
			for _, x := range a.Points {
				raw = order.AppendUint64(raw, math.Float64bits(x))
			}
		}
		size := 8
		if t.Storage != nil {
			size = t.Storage.Type.Bits() / 8
		}
		raw = align(raw, size)
		one.Offset = len(raw)
		var err error
		if raw, err = appendCells(raw, order, t); err != nil {
			return nil, err
		}
		one.Bytes = len(raw) - one.Offset
		out.Tables = append(out.Tables, one)
	}
	sum := sha256.Sum256(raw)
	out.Bytes, out.SHA256 = len(raw), hex.EncodeToString(sum[:])
	data, err := emit.Encode(&out)
	if err != nil {
		return nil, err
	}
	return []emit.File{{Path: imageFile, Data: bytes.Clone(raw)}, {Path: imageMapFile, Data: data}}, nil
}

// align fills up to a multiple of a size.
func align(raw []byte, size int) []byte {
	for len(raw)%size != 0 {
		raw = append(raw, 0)
	}
	return raw
}

// appendCells appends a table's cells as they are stored.
func appendCells(raw []byte, order binary.AppendByteOrder, t *table.Table) ([]byte, error) {
	s := t.Storage
	if s == nil {
		for _, x := range t.Cells {
			raw = order.AppendUint64(raw, math.Float64bits(x))
		}
		return raw, nil
	}
	lo, hi := s.Type.Range()
	for _, x := range s.Raw {
		if s.Type == table.F32 {
			raw = order.AppendUint32(raw, math.Float32bits(float32(x)))
			continue
		}
		if x != math.Trunc(x) || x < lo || x > hi {
			return nil, fmt.Errorf("table %s: %v is no %s", t.Name, x, s.Type)
		}
		switch n := int64(x); s.Type.Bits() {
		case 8:
			raw = append(raw, byte(n))
		case 16:
			raw = order.AppendUint16(raw, uint16(n))
		default:
			raw = order.AppendUint32(raw, uint32(n))
		}
	}
	return raw, nil
}
