package spc

import "fmt"

// Kind is a type of chart.
type Kind uint8

// The kinds of chart.
const (
	P           Kind = iota + 1 // proportion of cases
	NP                          // number of cases, constant denominator
	PPrime                      // proportion, spread estimated from successive points
	C                           // count, constant exposure
	U                           // rate per unit of exposure
	UPrime                      // rate, spread estimated from successive points
	Run                         // values about their median, no limits
	XmR                         // individual values, spread from moving ranges
	MovingRange                 // companion of XmR
	XbarR                       // subgroup means, spread from ranges
	XbarS                       // subgroup means, spread from standard deviations
	Range                       // companion of XbarR
	Deviation                   // companion of XbarS
	G                           // cases without the event between two events
	T                           // time between two events
	EWMA                        // exponentially weighted moving average
	Cusum                       // tabular cumulative sum, upper side
	CusumLower                  // companion of Cusum
)

var kindNames = map[Kind]string{
	P: "p", NP: "np", PPrime: "p-prime", C: "c", U: "u", UPrime: "u-prime", Run: "run", XmR: "xmr",
	MovingRange: "mr", XbarR: "xbar-r", XbarS: "xbar-s", Range: "r", Deviation: "s", G: "g", T: "t",
	EWMA: "ewma", Cusum: "cusum", CusumLower: "cusum-lower",
}

// String gives the name used on the command line and in JSON.
func (k Kind) String() string {
	if s, ok := kindNames[k]; ok {
		return s
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// KindNamed finds the kind of a name; companions cannot be asked for.
func KindNamed(name string) (Kind, error) {
	for k, s := range kindNames {
		if s == name && !k.companion() {
			return k, nil
		}
	}
	return 0, fmt.Errorf("chart type %q is not known\nhint: one of run, xmr, xbar-r, xbar-s, p, np, p-prime, c, u, u-prime, g, t, ewma, cusum", name)
}

func (k Kind) companion() bool {
	return k == MovingRange || k == Range || k == Deviation || k == CusumLower
}

// ratio says whether the value plotted is numerator over denominator.
func (k Kind) ratio() bool { return k == P || k == PPrime || k == U || k == UPrime }

// proportion says whether the plotted value cannot exceed 1.
func (k Kind) proportion() bool { return k == P || k == PPrime }

// counts says whether numerators are whole numbers of cases or events.
func (k Kind) counts() bool { return k.ratio() || k == NP || k == C || k == G }

// Direction is a side: of a signal, or the favourable one of a measure.
type Direction int8

// The directions.
const (
	Down  Direction = -1
	Level Direction = 0 // no direction
	Up    Direction = 1
)

// String gives "up", "down" or "none".
func (d Direction) String() string {
	switch d {
	case Up:
		return "up"
	case Down:
		return "down"
	default:
		return "none"
	}
}

// Verdict is a signal's direction against the favourable one.
type Verdict uint8

// The verdicts.
const (
	Neither Verdict = iota
	Better
	Worse
)

// String gives "better", "worse" or "neither".
func (v Verdict) String() string {
	switch v {
	case Better:
		return "better"
	case Worse:
		return "worse"
	default:
		return "neither"
	}
}

// Judge maps a direction of change to better, worse or neither, given the
// favourable direction of the plotted value.
func Judge(change, favourable Direction) Verdict {
	switch {
	case change == Level || favourable == Level:
		return Neither
	case change == favourable:
		return Better
	default:
		return Worse
	}
}
