package cases

import (
	"fmt"
	"math"

	"chestrise/etl/record"
)

// trait is something that is said of a birth and could tell which birth it was.
type trait uint8

const (
	gestation trait = iota
	weight
	multiple
	place
	mode
	steroids
	anomaly
	numTraits
)

// traits are what is lost where the trait is not shown, and how much that costs
// a conference: gestation is kept longest.
var traits = [numTraits]struct {
	name string
	cost int
}{
	gestation: {"gestation", 16}, weight: {"birth weight", 5}, multiple: {"single or multiple birth", 4}, place: {"place of birth", 3},
	mode: {"mode of birth", 2}, steroids: {"antenatal steroids", 1}, anomaly: {"anomaly known before birth", 3},
}

// birth holds a newborn's traits as classes; 0 is not recorded.
type birth [numTraits]uint8

// wide is the coarser class of a gestation band: under 32 weeks, 32 to 36, 37 and
// more, not known.
func wide(band uint8) uint8 {
	switch {
	case band >= record.Band22 && band <= record.Band28:
		return 1
	case band == record.Band32 || band == record.Band34:
		return 2
	case band == record.Band37:
		return 3
	}
	return 0
}

var wideWords = [...]string{"gestation not known", "under 32 weeks", "32 to 36 weeks", "37 weeks or more"}

// weightEdges are the lower ends of the classes of birth weight, in grams.
var weightEdges = []float64{0, 750, 1000, 1500, 2000, 2500, 4000}

var weightWords = [...]string{"", "under 750 g", "750 to 999 g", "1,000 to 1,499 g", "1,500 to 1,999 g", "2,000 to 2,499 g", "2,500 to 3,999 g", "4,000 g or more"}

func birthOf(d *record.Document, f record.Facts) birth {
	var b birth
	n := &d.Newborn
	b[gestation] = code(f, record.FactGestationBand)
	if v := n[record.BirthWeightG]; v.State == record.Recorded {
		for i, edge := range weightEdges {
			if v.Number >= edge {
				b[weight] = uint8(i + 1)
			}
		}
	}
	b[multiple] = 1
	if n[record.BirthSet].State == record.Recorded {
		b[multiple] = 2
	}
	b[place] = n[record.Place].Code
	b[mode] = n[record.ModeOfBirth].Code*4 + n[record.Urgency].Code
	b[steroids] = n[record.AntenatalSteroids].Code
	if v := n[record.MajorAnomaly]; v.State == record.Recorded {
		b[anomaly] = 1
		if v.Set&^(1<<(record.MajorAnomalyNone-1)) != 0 {
			b[anomaly] = 2
		}
	}
	return b
}

// shown says which traits of a birth are shown, and whether gestation is shown
// in wide bands.
type shown struct {
	trait [numTraits]bool
	wide  bool
}

// coarsen chooses what to show of a birth: the most that at least rare newborns
// of the period share. Every choice is tried, the cheapest loss wins; costs of
// choices differ, so that the choice does not depend on the order of the births.
// Where the whole period holds fewer newborns, nothing is shown.
func coarsen(b birth, all []birth, rare int) shown {
	best, least := shown{trait: [numTraits]bool{}, wide: false}, math.MaxInt
	for set := range 1 << numTraits {
		for _, w := range []bool{false, true} {
			s, cost := shown{trait: [numTraits]bool{}, wide: w}, 0
			for t := range numTraits {
				s.trait[t] = set&(1<<t) != 0
				if !s.trait[t] {
					cost += 8 * traits[t].cost
				}
			}
			if w {
				if !s.trait[gestation] {
					continue
				}
				cost += 8 * 6
			}
			cost = cost*int(numTraits)*128 + set
			if cost < least && sharing(b, all, s, rare) {
				best, least = s, cost
			}
		}
	}
	return best
}

// sharing says whether at least rare newborns are alike in what is shown.
func sharing(b birth, all []birth, s shown, rare int) bool {
	n := 0
	for i := range all {
		if s.alike(b, all[i]) {
			if n++; n >= rare {
				return true
			}
		}
	}
	return false
}

func (s shown) alike(a, b birth) bool {
	for t := range numTraits {
		x, y := a[t], b[t]
		if t == gestation && s.wide {
			x, y = wide(x), wide(y)
		}
		if s.trait[t] && x != y {
			return false
		}
	}
	return true
}

// context puts into words what is shown of a birth, and what is not.
func (c *candidate) context(s shown, rare int) (pairs [][2]string, coarsened []string) {
	n := &c.doc.Newborn
	var blank []string
	say := func(name, words string) {
		if words == "" {
			blank = append(blank, lower(name))
			return
		}
		pairs = append(pairs, [2]string{name, words})
	}
	words := func(f record.Field) string {
		v, spec := n[f], record.Fields[f]
		if v.State != record.Recorded || v.Code == 0 {
			return ""
		}
		return spec.Codes[v.Code-1]
	}
	for t := range numTraits {
		if !s.trait[t] {
			continue
		}
		switch t { //nolint:exhaustive // every trait has its case; the last constant counts them
		case gestation:
			w := bandWords[c.birth[gestation]]
			if s.wide {
				w = wideWords[wide(c.birth[gestation])]
			}
			say("Gestation", w)
		case weight:
			say("Birth weight", weightWords[c.birth[weight]])
		case multiple:
			say("Birth", [...]string{"", "single", "one of a multiple birth"}[c.birth[multiple]])
		case place:
			say("Place", map[uint8]string{record.PlacePlannedBirthRoom: "planned birth room", record.PlaceOtherBirthRoom: "another birth room or theatre", record.PlaceElsewhereInHospital: "elsewhere in the hospital", record.PlaceOutside: "outside the hospital"}[c.birth[place]])
		case mode:
			w := words(record.ModeOfBirth)
			if u := words(record.Urgency); u != "" && w != "" {
				w += ", " + u
			}
			say("Mode of birth", w)
		case steroids:
			say("Antenatal steroids", words(record.AntenatalSteroids))
		case anomaly:
			if c.birth[anomaly] == 2 {
				say("Anomaly", "one was known before birth")
			}
		}
	}
	if len(blank) > 0 {
		pairs = append(pairs, [2]string{"Not recorded", list(blank)})
	}
	var lost []string
	for t := range numTraits {
		if !s.trait[t] && (t != anomaly || c.birth[anomaly] == 2) {
			lost = append(lost, traits[t].name)
		}
	}
	if len(lost) > 0 {
		coarsened = append(coarsened, fmt.Sprintf("Not shown: %s. Fewer than %d newborns of the period are alike in it.", list(lost), rare))
	}
	if s.wide {
		coarsened = append(coarsened, fmt.Sprintf("Gestation is given in a wide band: fewer than %d newborns of the period share the narrow one.", rare))
	}
	return pairs, coarsened
}
