package page

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"fmt"

	"fettle/compiler/review"
)

// blob is data as it stands in the page.
type blob struct {
	kind  string // its type, which says how it is read
	bytes []byte
}

// The kinds of blob: plain JSON; JSON deflated and written in base64.
const (
	plainKind  = "application/json"
	packedKind = "application/octet-stream"
)

// pack writes data, deflated where it is large.
func pack(d *data) (*blob, error) {
	text, err := d.JSON()
	if err != nil {
		return nil, err
	}
	if len(text) <= packAbove {
		return &blob{plainKind, text}, nil
	}
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(text); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	out := make([]byte, base64.StdEncoding.EncodedLen(b.Len()))
	base64.StdEncoding.Encode(out, b.Bytes())
	return &blob{packedKind, out}, nil
}

// How many tunes' tables are tried to be kept at all, and of how many the chains
// are kept even where others then go without tables.
const (
	mostTables  = 2000
	leastChains = 48
)

// fitData makes the data fit into a number of bytes. What doesn't is left out from
// the tunes that change least: first their chains, then their tables. The texts
// say what was left out.
func fitData(r *review.Review, call string, room int) (*blob, []string, error) {
	n := len(entriesOf(r))
	tables := min(n, mostTables)
	chains := tables
	b, err := pack(newData(r, call, tables, chains))
	if err == nil && len(b.bytes) > room && chains > leastChains {
		b, chains, err = fewerChains(r, call, tables, len(b.bytes), room)
	}
	for err == nil && len(b.bytes) > room && tables > 0 {
		// About as many as there is room for; fewer in any case.
		tables = max(0, min(tables-1, int(0.95*float64(tables)*float64(room)/float64(len(b.bytes)))))
		chains = min(chains, tables)
		b, err = pack(newData(r, call, tables, chains))
	}
	if err != nil {
		return nil, nil, err
	}
	if len(b.bytes) > room {
		b = nil
	}
	return b, leftOut(n, tables, chains, call), nil
}

// fewerChains packs as many chains as there is room for, but not less than the
// least, guessing by what all of them took.
func fewerChains(r *review.Review, call string, tables, whole, room int) (*blob, int, error) {
	least, err := pack(newData(r, call, tables, leastChains))
	if err != nil || len(least.bytes) >= room {
		return least, leastChains, err
	}
	share := float64(room-len(least.bytes)) / float64(whole-len(least.bytes))
	chains := leastChains + int(0.9*share*float64(tables-leastChains))
	b, err := pack(newData(r, call, tables, chains))
	if err != nil || len(b.bytes) > room {
		return least, leastChains, err
	}
	return b, chains, nil
}

func leftOut(n, tables, chains int, call string) []string {
	var out []string
	if n > tables {
		out = append(out, fmt.Sprintf("To keep this page small, the tables of the %s that change least aren't in it: `%s diff` shows them.", counted(n-tables, "tune"), call))
	}
	if chains < tables {
		out = append(out, fmt.Sprintf("To keep this page small, the chains of the %s that change least aren't in it: `%s why` tells them cell by cell.", counted(tables-chains, "tune"), call))
	}
	return out
}
