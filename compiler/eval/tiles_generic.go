//go:build !amd64 || purego

package eval

func runTiles(code *tile, from, n int, marks *uint64, again *byte) {}
