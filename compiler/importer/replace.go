package importer

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// MayReplace says why a file can't be written with the result: one that is there
// already must hold the declaration that it replaces, and nothing else, so that
// no rule and no comment is lost.
func MayReplace(name string, r *Result) error {
	st, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s can't be looked at: %w", name, err)
	case !st.Mode().IsRegular():
		return fmt.Errorf("%s isn't a plain file, and isn't written", name)
	}
	fsys, closer, err := source.OpenFolder(filepath.Dir(name))
	if err != nil {
		return err
	}
	defer closer.Close()
	f, err := source.ReadText(fsys, filepath.Base(name))
	if err != nil {
		return fmt.Errorf("%s is there already, and is no source: %w", name, err)
	}
	tree := syntax.Parse(f, &diag.List{})
	if len(tree.Decls) == 1 && len(tree.Comments) == 0 && !tree.Partial {
		if h := tree.Decls[0].Header(); h.Keyword == r.As && h.Name.Text == r.Name {
			return nil
		}
	}
	return fmt.Errorf("%s is there already and holds more than %s %s: write to another file, or take what is printed over by hand", name, r.As, r.Name)
}
