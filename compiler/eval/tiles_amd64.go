//go:build amd64 && !purego

package eval

// runTiles carries out a chain of operations on n cells from one on, 16 at a time;
// that one begins a tile.
// marks is 16 values that are all ones and 16 that are all zeros, by bits. It may
// read and write up to 15 cells more. again is set to 1 where a value isn't what the
// chain was made for.
//
//go:noescape
func runTiles(code *tile, from, n int, marks *uint64, again *byte)
