package diary

import "slices"

// memo remembers what is known of the rest of a plan from a state of the search.
type memo struct {
	table  []int32 // index into states, plus one
	states []memoState
	keys   []int32 // of all states, one after the other
	hashes []uint64
}

type memoState struct {
	key    int32 // where its key starts
	length int32
	least  cost // the rest costs no less
	exact  bool // and no more
}

// reset empties the memo and keeps its room.
func (t *memo) reset() {
	clear(t.table)
	t.states, t.keys, t.hashes = t.states[:0], t.keys[:0], t.hashes[:0]
}

// find returns the state of a key, which is new and knows nothing when it has not
// been met before.
func (t *memo) find(key []int32) int32 {
	if 2*len(t.states) >= len(t.table) {
		t.grow()
	}
	h := hashOf(key)
	mask := uint64(len(t.table) - 1)
	for at := h & mask; ; at = (at + 1) & mask {
		n := t.table[at]
		if n == 0 {
			t.table[at] = int32(len(t.states) + 1)
			t.states = append(t.states, memoState{key: int32(len(t.keys)), length: int32(len(key))})
			t.keys = append(t.keys, key...)
			t.hashes = append(t.hashes, h)
			return int32(len(t.states) - 1)
		}
		s := &t.states[n-1]
		if t.hashes[n-1] == h && slices.Equal(t.keys[s.key:s.key+s.length], key) {
			return n - 1
		}
	}
}

func (t *memo) grow() {
	const least = 64
	t.table = make([]int32, max(least, 2*len(t.table)))
	mask := uint64(len(t.table) - 1)
	for i, h := range t.hashes {
		at := h & mask
		for t.table[at] != 0 {
			at = (at + 1) & mask
		}
		t.table[at] = int32(i + 1)
	}
}

func hashOf(key []int32) uint64 {
	const odd = 0x9e3779b97f4a7c15
	h := uint64(len(key))
	for _, k := range key {
		h = (h ^ uint64(uint32(k))) * odd
		h ^= h >> 29
	}
	return h
}
