package record

// Type says what a field or a fact holds.
type Type uint8

// The types of fields and facts.
const (
	CodeType    Type = iota + 1 // one of Codes
	SetType                     // several of Codes, joined by "+"
	YesNoType                   // yes or no
	MarkType                    // yes or blank
	IntegerType                 // a whole number from Min to Max
	DecimalType                 // a decimal number from Min to Max
	UUIDType                    // a random key
)

// Spec is the dictionary's entry of a newborn field or of a fact.
type Spec struct {
	Name    string // column name; UCUM unit in the name where there is one
	Type    Type
	Codes   []string // for CodeType and SetType, in the order of Value.Code
	Min     float64  // for numbers, both ends included
	Max     float64
	OneOf   []float64 // for numbers: these and no others; empty: all from Min to Max
	Unit    string    // UCUM code; empty: none
	Section Section
	Meaning string // one sentence for a clinician
	Only    string // when the question applies at all; empty: always
}

// Section groups fields and event kinds under one charted mark.
type Section uint8

// The sections that a source may mark as charted. Only in a marked section
// does a blank mean "not done".
const (
	NoSection Section = iota
	Assessments
	Support
	Steps
	Airway
	CompressionsDrugs
	Cord
	Temperature
	Team
	numSections
)

// SectionNames are the words of the sections, indexed by Section.
var SectionNames = [...]string{"", "assessments", "support", "steps", "airway", "compressions-drugs", "cord", "temperature", "team"}

// String returns the section's name.
func (s Section) String() string { return SectionNames[s] }

// Sections is a set of sections.
type Sections uint16

// AllSections holds every section.
const AllSections Sections = 1<<numSections - 2

// With returns the set with s added.
func (x Sections) With(s Section) Sections { return x | 1<<s }

// Has says whether s is in the set.
func (x Sections) Has(s Section) bool { return x&(1<<s) != 0 }

// CodeOf returns the 1-based number of a code in a list, 0 if it is not there.
func CodeOf(codes []string, code string) uint8 {
	for i, c := range codes {
		if c == code {
			return uint8(i + 1)
		}
	}
	return 0
}

// Yes and No are the codes of a YesNoType value.
const (
	Yes uint8 = 1
	No  uint8 = 2
)

// YesNo are the words of a YesNoType value.
var YesNo = []string{"yes", "no"}
