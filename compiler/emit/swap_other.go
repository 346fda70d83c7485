//go:build !linux

package emit

func exchange(tmp, dir, aside string) error { return twoRenames(tmp, dir, aside) }

func syncTree(dir string) error { return syncEach(dir) }
