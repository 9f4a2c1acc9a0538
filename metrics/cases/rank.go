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
