package derive

// zone is the set of all placements of some times that respect limits on their
// pairwise differences (a difference-bound matrix; R. Bellman 1957, D. Dill 1989).
// Entry [i][j] limits t(i) - t(j). A closed zone holds in every entry the
// tightest limit that follows from all the others.
type zone struct {
	n int
	d []bound
}

// limit is one entry to be imposed on a zone.
type limit struct {
	i, j int
	b    bound
}

// newZone returns the closed zone of n times under the limits given.
func newZone(n int, limits []limit) *zone {
	z := &zone{n: n, d: make([]bound, n*n)}
	for i := range z.d {
		z.d[i] = unbounded
	}
	for i := range n {
		z.d[i*n+i] = atMost(0)
	}
	for _, l := range limits {
		if e := &z.d[l.i*n+l.j]; l.b < *e {
			*e = l.b
		}
	}
	for k := range n {
		for i := range n {
			through := z.d[i*n+k]
			if through == unbounded {
				continue
			}
			for j := range n {
				if b := through.plus(z.d[k*n+j]); b < z.d[i*n+j] {
					z.d[i*n+j] = b
				}
			}
		}
	}
	return z
}

// copyFrom makes z a copy of o, keeping z's memory.
func (z *zone) copyFrom(o *zone) {
	z.n = o.n
	z.d = append(z.d[:0], o.d...)
}

// at returns the limit of t(i) - t(j).
func (z *zone) at(i, j int) bound { return z.d[i*z.n+j] }

// impose adds a limit that the zone allows, and closes the zone again.
func (z *zone) impose(i, j int, b bound) {
	n := z.n
	if b >= z.d[i*n+j] {
		return
	}
	for k := range n {
		ki := z.d[k*n+i]
		if ki == unbounded {
			continue
		}
		kij := ki.plus(b)
		for l := range n {
			if c := kij.plus(z.d[j*n+l]); c < z.d[k*n+l] {
				z.d[k*n+l] = c
			}
		}
	}
}
