package form

import "fettle/compiler/emit"

// tsv writes each table with tabs: it pastes into a spreadsheet and back.
func tsv(c *emit.Content) ([]emit.File, error) {
	out := make([]emit.File, len(c.Tables))
	for i := range c.Tables {
		out[i] = emit.File{Path: c.Tables[i].Name + ".tsv", Data: c.Tables[i].TSV()}
	}
	return out, nil
}
