//go:build !linux

package emit

func exchange(tmp, dir, away string) error { return twoRenames(tmp, dir, away) }

func syncTree(dir string, _ int) error { return syncEach(dir) }
