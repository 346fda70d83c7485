package diag

// Nearest gives the name of the list that is spelled most like the given one,
// or "" if none is near enough to be what was meant. Ties go to the first.
//
// It stops after so many letters compared that a longer list is no one's.
func Nearest(name string, list []string) string {
	best, bestD := "", 1+(len(name)+1)/3
	room := 2_000_000
	for _, cand := range list {
		if cand == name {
			continue
		}
		if room -= 1 + len(name)*len(cand); room < 0 {
			break
		}
		if d := distance(name, cand, bestD); d < bestD {
			best, bestD = cand, d
		}
	}
	return best
}

// distance is the edit distance with swaps of neighbours (optimal string
// alignment), cut short once it can't be below limit.
func distance(a, b string, limit int) int {
	if len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	prev2, prev, cur := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(b)]
}
