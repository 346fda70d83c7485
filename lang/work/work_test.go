package work

import "testing"

func TestMost(t *testing.T) {
	if got := Most(Words); got != Words {
		t.Errorf("without --work: %d", got)
	}
	Set(3)
	defer Set(1)
	if got := Most(Words); got != 3*Words {
		t.Errorf("with --work 3: %d", got)
	}
	if got := Most(Computing); got != 3*Computing {
		t.Errorf("with --work 3: %d", got)
	}
}

// The greatest budget at the greatest --work is still a number.
func TestBudgetsFit(t *testing.T) {
	Set(MaxTimes)
	defer Set(1)
	if got := Most(Computing); got/MaxTimes != Computing {
		t.Errorf("%d", got)
	}
}
