package spc

import (
	"fmt"
	"strconv"
)

var numberWords = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

func number(n int) string {
	if n >= 0 && n < len(numberWords) {
		return numberWords[n]
	}
	return strconv.Itoa(n)
}

// points says "one point", "3 points".
func points(n int) string {
	if n == 1 {
		return "one point"
	}
	return number(n) + " points"
}

// words describes one signal: what was seen, on which side, and over what it ran.
func (s *Signal) words(c *Chart) string {
	r, _ := RuleByID(s.Rule)
	centre := "centre"
	if c.Kind == Run || c.Kind == G || c.Kind == T {
		centre = "median"
	}
	above := map[Direction]string{Up: "above", Down: "below", Level: "about"}[s.Direction]
	rising := map[Direction]string{Up: "rising", Down: "falling", Level: "level"}[s.Direction]
	var text string
	switch r.class {
	case beyond:
		if s.Direction == Up {
			text = "one point beyond the upper limit"
		} else {
			text = "one point beyond the lower limit"
		}
		if c.Points[s.At[0]].AtLeast {
			text += " (its true value is this or more)"
		}
	case decision:
		text = "the " + c.Kind.String() + " lies beyond its decision limit"
	case sideRun, medianRun:
		if r.ID == FewCrossings {
			st := runsAbout(c.Points, c.Phases[s.Phase])
			fewest, _ := RunLimits(len(st.useful))
			text = fmt.Sprintf("the points cross the median %s, fewer than the %d that chance allows", times(st.crossings), fewest)
			break
		}
		text = fmt.Sprintf("%s in a row %s the %s", points(len(s.Members)), above, centre)
	case trend:
		text = fmt.Sprintf("%s in a row %s", points(len(s.Members)), rising)
	case zigzag:
		text = points(len(s.Members)) + " in a row going up and down in turn"
	case zone:
		text = fmt.Sprintf("%s of %s in a row more than %s sigma %s the %s", number(r.k), number(r.m), number(int(r.zone)), above, centre)
		if len(s.At) > 1 {
			text += ", " + times(len(s.At))
		}
	case inner:
		text = fmt.Sprintf("%s in a row within one sigma of the %s", points(len(s.Members)), centre)
	case outer:
		text = fmt.Sprintf("%s in a row more than one sigma from the %s, on either side", points(len(s.Members)), centre)
	}
	if s.Bridged > 0 {
		text += fmt.Sprintf(", passing over %s that cannot be judged", points(s.Bridged))
	}
	return text
}

func times(n int) string {
	switch n {
	case 0:
		return "not once"
	case 1:
		return "once"
	case 2:
		return "twice"
	default:
		return number(n) + " times"
	}
}
