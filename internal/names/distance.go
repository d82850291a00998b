package names

// Distance counts the slips between two words: the fewest letters to put in, to leave
// out, to change, or neighbours to change places, that make one of the other. Letters
// may be edited more than once, so that the triangle inequality holds (Damerau 1964,
// CACM 7:171; Lowrance and Wagner 1975, JACM 22:177).
func Distance(a, b string) int {
	var t trial
	first, second := []rune(a), []rune(b)
	t.fill(first, second)
	return t.at(len(second), len(first), len(second))
}

// trial keeps the scratch that many comparisons share.
type trial struct {
	cells []int
	seen  []place
}

// place is where a letter was met last in the first word.
type place struct {
	letter rune
	row    int
}

// compare counts the slips between a typed word and another, and between it and the
// beginning of the other that it fits best.
func (t *trial) compare(typed, of []rune) (slips, begun int) {
	cut := of[:min(len(of), len(typed)+mostSlips)]
	t.fill(typed, cut)
	begun = len(typed)
	for j := range len(cut) + 1 {
		begun = min(begun, t.at(len(cut), len(typed), j))
	}
	if len(cut) < len(of) {
		return mostSlips + 1, begun
	}
	return t.at(len(cut), len(typed), len(cut)), begun
}

// at is the cell of so many letters of the first and of the second word, whose length
// is given.
func (t *trial) at(length, i, j int) int { return t.cells[(i+1)*(length+2)+j+1] }

// fill works out the slips between all beginnings of two words. Row and column 0 are a
// border that is never the least; in row r and column c stand those between r-1 and
// c-1 letters.
func (t *trial) fill(a, b []rune) {
	width := len(b) + 2
	if n := (len(a) + 2) * width; cap(t.cells) < n {
		t.cells = make([]int, n)
	} else {
		t.cells = t.cells[:n]
	}
	t.seen = t.seen[:0]
	border := len(a) + len(b) + 1
	for j := range width {
		t.cells[j], t.cells[width+j] = border, j-1
	}
	t.cells[width] = border
	for i := 1; i <= len(a); i++ {
		row := t.cells[(i+1)*width : (i+2)*width]
		above := t.cells[i*width : (i+1)*width]
		row[0], row[1] = border, i
		same := 0 // where this row's letter was met last in the second word
		for j := 1; j <= len(b); j++ {
			changed := above[j] + 1
			met := same
			if a[i-1] == b[j-1] {
				changed, same = above[j], j
			}
			back := t.met(b[j-1])
			swapped := t.cells[back*width+met] + (i - back - 1) + 1 + (j - met - 1)
			row[j+1] = min(changed, above[j+1]+1, row[j]+1, swapped)
		}
		t.meet(a[i-1], i)
	}
}

// met is the row in which a letter was met last; 0 for none.
func (t *trial) met(letter rune) int {
	for _, p := range t.seen {
		if p.letter == letter {
			return p.row
		}
	}
	return 0
}

func (t *trial) meet(letter rune, row int) {
	for n := range t.seen {
		if t.seen[n].letter == letter {
			t.seen[n].row = row
			return
		}
	}
	t.seen = append(t.seen, place{letter, row})
}
