package eval

import (
	"fmt"
	"testing"
	"time"

	"fettle/testdata/bench/workload"
)

func TestZZ(t *testing.T) {
	for _, text := range []string{string(workload.DerivedFiles()["tune.fettle"].Data), string(workload.MixedFiles()["tune.fettle"].Data)} {
		w := lower(t, text)
		var res Result
		for _, tn := range w.plan.Tunes[:50] {
			w.TuneInto(&res, Mix{All: tn.Conditions(w.Check), Trims: tn.Trims}, Options{})
		}
		wk := w.worker()
		wk.cur = res.Maps
		env := w.plan.Tunes[7].Conditions(w.Check)
		show := func(name string, k *kernel) {
			if k == nil {
				return
			}
			fmt.Printf("%s: out %v from %d, %d pooled\n", name, k.slots[k.out].shape, k.slots[k.out].from, len(k.pooled))
			for i := range k.code {
				one := *k
				one.code = k.code[i : i+1]
				best := time.Hour
				for range 200 {
					s := time.Now()
					for range 20 {
						wk.run(&one, env, memAmount)
					}
					best = min(best, time.Since(s)/20)
				}
				in := &k.code[i]
				fmt.Printf("   %8v %v", best, in.op)
				for _, a := range in.args {
					fmt.Printf(" s%d:%d/%d", a, k.slots[a].shape, k.slots[a].from)
					if k.slots[a].from == fixed && k.slots[a].shape == scalar {
						fmt.Printf("=%v", k.slots[a].fixed[0])
					}
				}
				fmt.Printf(" -> %d\n", in.dst)
			}
			best := time.Hour
			for range 200 {
				s := time.Now()
				for range 20 {
					wk.run(k, env, memAmount)
				}
				best = min(best, time.Since(s)/20)
			}
			fmt.Printf("   all %v\n", best)
		}
		for i := range w.Check.Maps {
			mp := w.lowered(i)
			fmt.Println("MAP", w.Check.Maps[i].Name)
			show("base", mp.base)
			for _, s := range mp.steps {
				show("step "+s.Op+" "+s.Rule.Name, s.amount)
				show("where", s.where)
			}
		}
	}
}
