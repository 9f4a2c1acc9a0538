package cases

import (
	"cmp"
	"encoding/binary"
	"hash/fnv"
	"math/rand/v2"
	"slices"
)

// rank orders triggered newborns: the least expected trigger first, then the
// number of triggers, then the draw. Ranking by number alone would always bring
// the smallest newborns; the lesson is more often the unexpected one.
func rank(all []candidate) {
	slices.SortStableFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.share, b.share), len(b.hits)-len(a.hits), byDraw(a, b))
	})
}

func byDraw(a, b candidate) int {
	return cmp.Or(cmp.Compare(a.draw, b.draw), slices.Compare(a.doc.Key[:], b.doc.Key[:]))
}

// ticket draws a newborn's number from the packet's seed and the key alone, so
// that the draw does not depend on the order or the number of the others.
func (s *selector) ticket(key [16]byte) uint64 {
	h := fnv.New64a()
	_, _ = h.Write(key[:]) // a hash does not fail
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], s.q.Seed)
	_, _ = h.Write(b[:])
	return rand.New(rand.NewPCG(s.q.Seed, h.Sum64())).Uint64()
}

// lead is the trigger on which a candidate's rank rests.
func (c *candidate) lead() string {
	id, least := "", 2.0
	for _, h := range c.hits {
		if h.share < least {
			id, least = h.trigger.ID, h.share
		}
	}
	return id
}

// varied takes the first n of a ranking with at most alike of them resting on the
// same trigger, so that one common finding does not fill the room. Places left
// over go to the others in rank. What is taken stays in the order of the ranking.
func varied(ranked []candidate, n, alike int) []candidate {
	taken := make([]bool, len(ranked))
	seen := map[string]int{}
	left := n
	for _, strict := range []bool{true, false} {
		for i := range ranked {
			id := ranked[i].lead()
			if left == 0 || taken[i] || strict && seen[id] >= alike {
				continue
			}
			taken[i] = true
			seen[id]++
			left--
		}
	}
	var out []candidate
	for i := range ranked {
		if taken[i] {
			out = append(out, ranked[i])
		}
	}
	return out
}
