package emit

import "fettle/compiler/check"

// Standing is what every output says after the cautions of its source. The
// dangers are common knowledge of the trade; the words are ours.
var Standing = []string{
	"These are only numbers. An engine can destroy itself with wrong ones, and parts that let go hurt people: every tune is on trial until it is proven on the engine that it is for.",
	"Too little fuel or too much spark advance makes an engine knock, overheat, burn its piston or seize, often before anyone hears it. Begin rich and with little advance, and go on in small steps.",
	"Before use, check the tune on the engine itself: the mixture with a wide-band sensor in the exhaust, knock with an instrument, and the heat of plugs, head and exhaust. Stop at the first reading that you can't explain.",
	"On a dynamometer, tie the machine down, guard everything that turns, keep everyone out of line with wheels, chain and belt, have fire extinguishers ready, and have a second person at the stop switch.",
	"An exhaust burns skin and lights fuel, and its carbon monoxide kills without any smell. Never run an engine indoors unless the exhaust is led outside, the air is moved, and a carbon monoxide alarm is on.",
	"Fuels burn and explode, and some poison through the skin or burn with a flame that can't be seen. Follow the fuel's safety data sheet; keep it in closed containers meant for it, away from sparks, and never work on a fuel system that is hot or under pressure.",
	"A changed tune may break the rules of an event, or the law on emissions, noise and roads. Use it only where it is allowed.",
	"Where the engine's maker, local codes, the event's officials or a qualified person say otherwise, go by them and not by this.",
}

// Cautions is what every output of a source carries: its own cautions, then the
// standing ones.
func Cautions(p *check.Program) []string {
	out := make([]string, 0, len(p.Cautions)+len(Standing))
	return append(append(out, p.Cautions...), Standing...)
}
