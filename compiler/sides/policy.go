package sides

import (
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/review"
)

// Allow puts the policy of a comparison into its options: what --allow says, or
// else the sources' own where two states of a source are compared. Of two
// sources the stricter counts, so that no change hides itself by what it allows
// anew. The differences of two tunes of one source are never hidden unasked.
func Allow(opt *review.Options, old, new *review.Side, flag string) error {
	p := new.Program
	if p == nil {
		p = old.Program
	}
	var policy check.Policy
	switch {
	case flag != "" && p == nil:
		return wrong("--allow names maps, and there is no workspace here that has them")
	case flag != "":
		list, err := check.ReadAllow(p, flag)
		if err != nil {
			return wrong("--allow: %v", err)
		}
		policy, opt.PolicyFrom = check.NewPolicy(list), "--allow"
	case old.Program == new.Program || p == nil:
		return nil
	case old.Program != nil && new.Program != nil:
		policy = check.Strictest(old.Program.Allow, new.Program.Allow)
		opt.PolicyNote = changed(old.Program.Allow, new.Program.Allow)
	default:
		policy = check.NewPolicy(p.Allow)
	}
	if flag == "" {
		var places []string
		for _, at := range policy.Places() {
			places = append(places, at.String())
		}
		opt.PolicyFrom = strings.Join(places, ", ")
	}
	if !policy.Empty() {
		opt.Policy, opt.PolicyText = policy, policy.Texts()
	}
	return nil
}

// changed says that two sources allow other things.
func changed(old, new []check.Allowance) string {
	text := func(list []check.Allowance) string {
		return strings.Join(check.NewPolicy(list).Texts(), ", ")
	}
	a, b := text(old), text(new)
	switch {
	case a == b:
		return ""
	case a == "":
		return "the review policy (" + b + ") is new here, and hides nothing yet"
	case b == "":
		return "the review policy (" + a + ") is taken out here, and hides nothing any more"
	}
	return "the review policy was " + a + " and is " + b + " now: of each map the stricter counts"
}
