package table

import "strings"

// nearest returns the candidate that text was most likely meant to be, or "".
// Case, blanks, hyphens and underscores do not count as differences.
func nearest(text string, candidates []string) string {
	wanted := plain(text)
	best, bestDistance := "", len(wanted)/3+1
	for _, c := range candidates {
		candidate := plain(c)
		distance := edits(wanted, candidate)
		if len(wanted) >= 4 && strings.HasPrefix(candidate, wanted) {
			distance = min(distance, 1)
		}
		if distance < bestDistance || distance == bestDistance && best == "" && distance <= 2 {
			best, bestDistance = c, distance
		}
	}
	return best
}

// DidYouMean returns "did you mean X?" for the nearest of the candidates, or ""
// when none is near.
func DidYouMean(text string, candidates []string) string {
	if near := nearest(text, candidates); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

func plain(s string) string {
	return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(s))
}

// edits counts the insertions, deletions, replacements and swaps of neighbours
// that turn a into b.
func edits(a, b string) int {
	var before, previous []int
	current := make([]int, len(b)+1)
	for j := range current {
		current[j] = j
	}
	for i := 1; i <= len(a); i++ {
		before, previous = previous, current
		current = make([]int, len(b)+1)
		current[0] = i
		for j := 1; j <= len(b); j++ {
			replace := previous[j-1]
			if a[i-1] != b[j-1] {
				replace++
			}
			current[j] = min(replace, previous[j]+1, current[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				current[j] = min(current[j], before[j-2]+1)
			}
		}
	}
	return current[len(b)]
}
