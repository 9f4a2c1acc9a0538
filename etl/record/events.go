package record

// Clock says whose zero an event's seconds count from. Nothing is inferred
// across clocks.
type Clock uint8

// The clocks. Only Birth and Sheet have complete birth as their zero.
const (
	ClockUnknown Clock = iota
	ClockBirth         // complete birth, called or stamped
	ClockWarmer        // started on arrival at the warmer or when the cord was cut
	ClockSheet         // another record's own zero, complete birth
)

// Clocks are the words of Clock, indexed by it.
var Clocks = [...]string{"unknown", "birth", "warmer", "sheet"}

// String returns the word in events.csv.
func (c Clock) String() string { return Clocks[c] }

// How says how a time was taken.
type How uint8

// The ways of taking a time. HowBlank: not stated.
const (
	HowBlank How = iota
	ByDevice
	ByVideo
	Live
	After // typed afterwards
)

// Hows are the words of How, indexed by it.
var Hows = [...]string{"", "device", "video", "live", "after"}

// String returns the word in events.csv.
func (h How) String() string { return Hows[h] }

// TimeUnits are the units to which a time may have been taken, in seconds.
var TimeUnits = []uint8{1, 5, 10, 30, 60}

// Kind is the kind of an event row.
type Kind uint8

// EventCode is the 1-based place of a code in its kind's list; 0 is none.
type EventCode uint8

// The kinds of event rows. The second block holds attributes: rows that share
// a group with the event they describe and carry its time.
const (
	HeartRate Kind = iota + 1
	MonitorOn
	Saturation
	Oxygen
	Breathing
	ChestMovement
	ExhaledCO2
	SupportBegun
	SupportEnded
	CorrectiveStep
	AirwayBegun
	AirwayEnded
	CompressionsBegun
	CompressionsEnded
	Dose
	CordClamped
	ThermalStep
	Stimulated
	LaterResuscitation

	Device
	DeviceNotKept
	GasFailure
	Interface
	MaskSize
	PIP
	PEEP
	Rate
	Reason
	Operator
	Scope
	TubeSize
	Depth
	Outcome
	Confirmed

	numKinds
)

// EventSpec is the dictionary's entry of an event kind.
type EventSpec struct {
	Name      string
	Codes     []string // empty: the row carries no code
	Optional  bool     // the code may be blank
	Value     bool     // the row may carry a value
	Min, Max  float64
	Whole     bool   // the value is a whole number
	Unit      string // UCUM code of the value
	Attribute bool   // describes another event of its group
	Section   Section
	Meaning   string
}

// Events is the dictionary of event kinds, indexed by Kind.
var Events = [numKinds]EventSpec{
	HeartRate: {
		Name: "heart-rate", Codes: []string{"auscultation", "palpation", "oximeter", "ecg", "absent", "below-60", "60-to-99", "100-or-more", "no-reading"},
		Optional: true, Value: true, Min: 0, Max: 300, Unit: "/min", Section: Assessments,
		Meaning: "Heart rate: a value with the way it was taken, or a band, or a sensor without a reading.",
	},
	MonitorOn:     {Name: "monitor-on", Codes: []string{"oximeter", "ecg"}, Section: Assessments, Meaning: "Sensor or leads applied."},
	Saturation:    {Name: "saturation", Codes: []string{"reading", "no-reading"}, Value: true, Min: 0, Max: 100, Unit: "%", Section: Assessments, Meaning: "Oxygen saturation, or a sensor without a reading."},
	Oxygen:        {Name: "oxygen", Codes: []string{"set"}, Value: true, Min: 21, Max: 100, Whole: true, Unit: "%", Section: Support, Meaning: "Oxygen concentration set, in whole per cent."},
	Breathing:     {Name: "breathing", Codes: []string{"none", "gasping", "breathing", "crying"}, Section: Assessments, Meaning: "Breathing as seen."},
	ChestMovement: {Name: "chest-movement", Codes: []string{"moving", "not-moving"}, Section: Assessments, Meaning: "Chest seen to move with an inflation, or not."},
	ExhaledCO2:    {Name: "exhaled-co2", Codes: []string{"detected", "not-detected"}, Section: Assessments, Meaning: "Exhaled carbon dioxide looked for."},
	SupportBegun:  {Name: "support-begun", Codes: []string{"cpap", "ppv", "free-flow"}, Section: Support, Meaning: "Support begun, or continued with another device or interface."},
	SupportEnded:  {Name: "support-ended", Codes: []string{"cpap", "ppv", "free-flow"}, Section: Support, Meaning: "Support ended."},
	CorrectiveStep: {
		Name: "corrective-step", Codes: []string{"airway-clearing", "head-position", "mask-seal", "mouth-opening", "pressure"},
		Value: true, Min: 0, Max: 80, Unit: "cm[H2O]", Section: Steps, Meaning: "A step taken to make ventilation work; the codes have no order. For pressure, the value is the pressure afterwards.",
	},
	AirwayBegun:        {Name: "airway-attempt-begun", Codes: []string{"tube", "supraglottic"}, Section: Airway, Meaning: "Airway attempt begun: for a tube, the blade enters the mouth."},
	AirwayEnded:        {Name: "airway-attempt-ended", Codes: []string{"tube", "supraglottic"}, Section: Airway, Meaning: "Airway attempt ended: for a tube, the blade leaves the mouth."},
	CompressionsBegun:  {Name: "compressions-begun", Section: CompressionsDrugs, Meaning: "Chest compressions begun."},
	CompressionsEnded:  {Name: "compressions-ended", Section: CompressionsDrugs, Meaning: "Chest compressions ended."},
	Dose:               {Name: "dose", Codes: []string{"epinephrine-iv", "epinephrine-tracheal", "volume", "other"}, Value: true, Min: 0, Max: 100, Unit: "mg/kg or mL/kg", Section: CompressionsDrugs, Meaning: "A drug in mg/kg or a volume in mL/kg given."},
	CordClamped:        {Name: "cord-clamped", Section: Cord, Meaning: "Cord clamped or cut."},
	ThermalStep:        {Name: "thermal-step", Codes: []string{"plastic-wrap", "mattress", "hat", "skin-to-skin", "warm-gas", "dried"}, Section: Temperature, Meaning: "A step taken to keep the newborn warm."},
	Stimulated:         {Name: "stimulated", Codes: []string{"drying", "rubbing", "suction-only"}, Section: Support, Meaning: "Stimulation given."},
	LaterResuscitation: {Name: "later-resuscitation", Section: Support, Meaning: "Resuscitation begun later than 20 minutes after birth or outside the place of birth; its rows share the group."},

	Device:        {Name: "device", Codes: []string{"self-inflating", "flow-inflating", "t-piece", "ventilator"}, Attribute: true, Section: Support, Meaning: "Device of a support episode."},
	DeviceNotKept: {Name: "device-not-kept-here", Codes: []string{"self-inflating", "flow-inflating", "t-piece", "ventilator"}, Attribute: true, Section: Support, Meaning: "A device that the place of birth does not keep."},
	GasFailure:    {Name: "gas-failure", Attribute: true, Section: Support, Meaning: "Gas supply failed."},
	Interface:     {Name: "interface", Codes: []string{"mask", "nasal", "supraglottic", "tube"}, Attribute: true, Section: Support, Meaning: "Interface of a support episode."},
	MaskSize:      {Name: "mask-size", Value: true, Min: 20, Max: 90, Unit: "mm", Attribute: true, Section: Support, Meaning: "Mask diameter."},
	PIP:           {Name: "pip", Value: true, Min: 1, Max: 80, Unit: "cm[H2O]", Attribute: true, Section: Support, Meaning: "Peak inflation pressure set."},
	PEEP:          {Name: "peep", Value: true, Min: 0, Max: 20, Unit: "cm[H2O]", Attribute: true, Section: Support, Meaning: "End-expiratory pressure set."},
	Rate:          {Name: "rate", Value: true, Min: 1, Max: 150, Unit: "/min", Attribute: true, Section: Support, Meaning: "Inflations a minute."},
	Reason:        {Name: "reason", Codes: []string{"mask-ventilation-failing", "surfactant", "transport-or-surgery", "first-interface", "other"}, Attribute: true, Section: Airway, Meaning: "Why an airway attempt was begun."},
	Operator:      {Name: "operator", Codes: []string{"consultant", "fellow", "resident", "nurse-practitioner", "nurse", "midwife", "paramedic", "other"}, Attribute: true, Section: Airway, Meaning: "Role of the person who attempted."},
	Scope:         {Name: "scope", Codes: []string{"video", "direct"}, Attribute: true, Section: Airway, Meaning: "Kind of laryngoscope."},
	TubeSize:      {Name: "tube-size", Value: true, Min: 2, Max: 4.5, Unit: "mm", Attribute: true, Section: Airway, Meaning: "Inner diameter of the tube."},
	Depth:         {Name: "depth", Value: true, Min: 3, Max: 15, Unit: "cm", Attribute: true, Section: Airway, Meaning: "Depth of the tube at the lip."},
	Outcome:       {Name: "outcome", Codes: []string{"placed", "failed", "dislodged"}, Attribute: true, Section: Airway, Meaning: "Outcome of an airway attempt; dislodged is a later row of the same group."},
	Confirmed:     {Name: "confirmed", Codes: []string{"co2", "other"}, Attribute: true, Section: Airway, Meaning: "How the position was confirmed."},
}

// String returns the kind's name in events.csv.
func (k Kind) String() string {
	if k > 0 && k < numKinds {
		return Events[k].Name
	}
	return ""
}

// KindOf returns the Kind of a name, 0 if there is none.
func KindOf(name string) Kind {
	for k := HeartRate; k < numKinds; k++ {
		if Events[k].Name == name {
			return k
		}
	}
	return 0
}

// Kinds lists the kinds in dictionary order.
func Kinds() []Kind {
	all := make([]Kind, 0, numKinds-1)
	for k := HeartRate; k < numKinds; k++ {
		all = append(all, k)
	}
	return all
}
