package eval

import "sync/atomic"

// Stats says what a program was lowered to, and what was left to the plain
// evaluator.
type Stats struct {
	Kernels    int   `json:"kernels"`    // expressions over columns
	Operations int   `json:"operations"` // of those, a tune
	Constant   int   `json:"constant"`   // columns that were worked out for all tunes
	Numbers    int   `json:"numbers"`    // that depend on the conditions alone, worked out once a tune
	Plain      int64 `json:"plain"`      // columns that the plain evaluator computed, a cell at a time
}

// counts are a program's, and those of the programs that were derived from it.
type counts struct {
	kernels, operations, constant int
	plain                         atomic.Int64
}

// note counts a kernel; the pool is locked.
func (c *counts) note(k *kernel) {
	c.kernels++
	c.operations += len(k.code)
	for i := range k.slots {
		if s := &k.slots[i]; s.from == fixed && s.shape != scalar {
			c.constant++
		}
	}
}

// Stats gives the counts so far. Maps that weren't computed aren't lowered.
func (p *Program) Stats() Stats {
	p.mu.Lock()
	defer p.mu.Unlock()
	return Stats{p.counts.kernels, p.counts.operations, p.counts.constant, len(p.pool.ones), p.counts.plain.Load() + p.derived.plain.Load()}
}

// Derive has another program's columns for the plain evaluator counted with this
// one's: those of a program that was made of it, for a controller.
func (p *Program) Derive(from *Program) *Program {
	p.told = &from.derived
	return p
}
