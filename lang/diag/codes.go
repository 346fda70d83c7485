package diag

// Info is what the documentation says of a code.
type Info struct {
	ID    string
	Title string
	Text  string
}

// Codes lists the table of codes.
func Codes() []Info { return nil }
