package derive

import "math"

// bound is an upper limit of a difference of two times: "at most v" or "less
// than v", v in half seconds. Half the unit of a recorded time is a whole number
// of half seconds, so nothing is ever rounded. The lowest bit tells the two
// apart, which makes the natural order of bounds that of how much they allow.
type bound int32

// unbounded allows every difference.
const unbounded bound = math.MaxInt32

// atMost and lessThan make bounds from half seconds.
func atMost(halves int32) bound   { return bound(2*halves + 1) }
func lessThan(halves int32) bound { return bound(2 * halves) }

// plus is the bound of a sum of two differences; it is strict if one of them is.
func (a bound) plus(b bound) bound {
	if a == unbounded || b == unbounded {
		return unbounded
	}
	return a + b - (a|b)&1
}

// shift adds half seconds.
func (a bound) shift(halves int32) bound {
	if a == unbounded {
		return a
	}
	return a + bound(2*halves)
}

// refuted is the bound that holds of the opposite difference exactly where a
// does not hold: not (x-y <= v) is y-x < -v.
func (a bound) refuted() bound { return 1 - a }

// seconds reads the bound as the upper end of an interval. An end that is not
// itself possible lies a quarter of a second inside.
func (a bound) seconds() float64 {
	v := float64(a>>1) / 2
	if a&1 == 0 {
		v -= 0.25
	}
	return v
}
