package cases

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"chestrise/etl/record"
)

// The words of codes, as a clinician says them.
var (
	breathingWords = [...]string{"", "not breathing", "gasping", "breathing", "crying"}
	chestWords     = [...]string{"", "chest moving", "chest not moving"}
	co2Words       = [...]string{"", "exhaled CO₂ detected", "exhaled CO₂ not detected"}
	supportWords   = [...]string{"", "CPAP", "ventilation", "free-flow oxygen"}
	stepWords      = [...]string{"", "airway cleared", "head position", "mask seal", "mouth opened", "pressure raised"}
	attemptWords   = [...]string{"", "tube", "supraglottic airway"}
	doseWords      = [...]string{"", "epinephrine into a vein", "epinephrine into the trachea", "volume", "another drug"}
	thermalWords   = [...]string{"", "plastic wrap", "warm mattress", "hat", "skin to skin", "warm gas", "dried"}
	stimulateWords = [...]string{"", "dried", "rubbed", "suction"}
	monitorWords   = [...]string{"", "oximeter on", "ECG on"}
	deviceWords    = [...]string{"", "self-inflating bag", "flow-inflating bag", "T-piece", "ventilator"}
	interfaceWords = [...]string{"", "mask", "nasal", "supraglottic", "tube"}
	reasonWords    = [...]string{"", "mask ventilation failing", "for surfactant", "for transport or surgery", "first interface", "another reason"}
	outcomeWords   = [...]string{"", "placed", "failed", "dislodged"}
	rateWays       = [...]string{"", "auscultation", "palpation", "oximeter", "ECG", "", "", "", ""}
	roleWords      = [...]string{"", "consultant", "fellow", "resident", "nurse practitioner", "nurse", "midwife", "paramedic", "another role"}
	bandWords      = [...]string{"under 22 weeks", "22 to 24 weeks", "25 to 27 weeks", "28 to 31 weeks", "32 to 33 weeks", "34 to 36 weeks", "37 weeks or more", "gestation not known"}
	leavingWords   = [...]string{"", "no support", "oxygen", "high flow", "CPAP", "ventilation by mask", "supraglottic airway", "a tube"}
	siteWords      = [...]string{"", "axilla", "rectum", "skin", "ear", "another site"}
)

func say[T ~uint8](words []string, c T) string {
	if int(c) < len(words) {
		return words[c]
	}
	return ""
}

// number writes a number as short as it is.
func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// seconds writes a time or a length of so many seconds: "94 s" below ten minutes,
// "34:20 min" above.
func seconds(x float64) string {
	if math.Abs(x) < 600 {
		return number(math.Round(x*2)/2) + " s"
	}
	s := int(math.Round(math.Abs(x)))
	sign := ""
	if x < 0 {
		sign = "−"
	}
	return fmt.Sprintf("%s%d:%02d min", sign, s/60, s%60)
}

// minutes writes minutes since birth.
func minutes(x float64) string {
	switch {
	case x < 120:
		return number(x) + " min"
	case x < 2880:
		return number(math.Round(x/6)/10) + " h"
	}
	return number(math.Floor(x/1440)) + " days"
}

// list joins words: "a, b and c".
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

func plural(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

func upper(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[0])) + string(r[1:])
}

// role names a role only where enough people hold it.
func (s *Settings) role(c record.EventCode) string {
	if s.Holders[uint8(c)] >= s.LeastHolders {
		return say(roleWords[:], c)
	}
	return "operator"
}
