// Package rule is the one list of the rules by which the etl refuses a file,
// holds a document, or sets a value aside. The contract prints it, the ledger
// counts by its ids, and the tests take it as their table of contents.
package rule

// Scope says how much a broken rule costs.
type Scope uint8

// The scopes. A rule costs as little as it can: one unusable value never
// removes a newborn from a denominator.
const (
	File     Scope = iota + 1 // the whole delivery is refused, nothing of it is loaded
	Document                  // the row is held, and with it what belongs to it
	Value                     // the value is set aside, the newborn stays, what depends on the value is unknown
	Flag                      // accepted; listed for a person to look at
)

// String returns the scope's word.
func (s Scope) String() string {
	return [...]string{"", "file", "document", "value", "flag"}[s]
}

// Rule is one rule: a stable id and what it says in plain words.
type Rule struct {
	ID    string
	Scope Scope
	Words string
}

// Of returns the rule with an id, and whether there is one.
func Of(id string) (Rule, bool) {
	for _, r := range All {
		if r.ID == id {
			return r, true
		}
	}
	return Rule{}, false
}

// The ids, by scope in the order of All.
const (
	ManifestMissing  = "manifest-missing"
	ManifestSyntax   = "manifest-syntax"
	ManifestKey      = "manifest-key"
	ManifestValue    = "manifest-value"
	SequenceReused   = "sequence-reused"
	FileMissing      = "file-missing"
	FileNotAnnounced = "file-not-announced"
	FileUnreadable   = "file-unreadable"
	FileEmpty        = "file-empty"
	FileEncoding     = "file-encoding"
	FileHash         = "file-hash"
	FileRows         = "file-rows"
	FileChanged      = "file-changed"
	ColumnUnknown    = "column-unknown"
	ColumnMissing    = "column-missing"
	ColumnRepeated   = "column-repeated"
	SortOrder        = "sort-order"
	TooManyHeld      = "too-many-held"
	NoGoodRow        = "no-good-row"
	UnitMonthOwned   = "unit-month-owned"
	MapInvalid       = "map-invalid"

	RowShape            = "row-shape"
	RowEncoding         = "row-encoding"
	Identifier          = "identifier"
	IdentifierInEvents  = "identifier-in-events"
	KeyShape            = "key-shape"
	KeyRepeated         = "key-repeated"
	StatusUnknown       = "status-unknown"
	UnitUnknown         = "unit-unknown"
	MonthShape          = "month-shape"
	MonthOutsidePeriod  = "month-outside-period"
	MonthInFuture       = "month-in-future"
	PrivacyMode         = "privacy-mode"
	EventKind           = "event-kind"
	EventWithoutNewborn = "event-without-newborn"
	EventTooMany        = "event-too-many"
	BirthsValue         = "births-value"
	BirthsRepeated      = "births-repeated"

	CodeUnknown           = "code-unknown"
	NotNumber             = "not-a-number"
	NotWhole              = "not-a-whole-number"
	OutOfRange            = "out-of-range"
	KeyValueShape         = "key-value-shape"
	NoneWithOthers        = "none-with-others"
	TemperatureFahrenheit = "temperature-fahrenheit"
	OxygenFraction        = "oxygen-fraction"
	NotApplicable         = "not-applicable"
	BirthSequenceRepeated = "birth-sequence-repeated"
	BornHereOutside       = "born-here-outside"
	DiedThenAdmitted      = "died-then-admitted"
	CordHelpWithSetup     = "cord-help-with-setup"
	PrivacyBirthSet       = "privacy-birth-set"
	EventCode             = "event-code"
	EventEmpty            = "event-empty"
	EventNoValue          = "event-takes-no-value"
	TimeBeforeBirth       = "time-before-birth"
	EndBeforeBegin        = "end-before-begin"
	PressureOrder         = "pressure-order"
	CPAPSelfInflating     = "cpap-self-inflating"
	OutcomeContradiction  = "outcome-contradiction"
	DoseImplausible       = "dose-implausible"
)

// All is the list of rules.
var All = []Rule{
	{ManifestMissing, File, "The folder holds no manifest.json."},
	{ManifestSyntax, File, "manifest.json is not one JSON object in UTF-8."},
	{ManifestKey, File, "manifest.json lacks a key, repeats one, or has one the contract does not know."},
	{ManifestValue, File, "A value of manifest.json is not what the contract asks for."},
	{SequenceReused, File, "Another delivery of the source has the same sequence with other content."},
	{FileMissing, File, "A file that the contract asks for, or that the manifest announces, is not there."},
	{FileNotAnnounced, File, "The folder holds a file that the manifest does not announce."},
	{FileUnreadable, File, "The file cannot be read."},
	{FileEmpty, File, "The file has no header line."},
	{FileEncoding, File, "The file is not plain UTF-8 text: UTF-16, NUL bytes, or carriage returns as the only line ends."},
	{FileHash, File, "The SHA-256 of the file is not the one in the manifest."},
	{FileRows, File, "The file has another number of rows than the manifest says."},
	{FileChanged, File, "The file changed while it was read."},
	{ColumnUnknown, File, "The header names a column that the contract does not know. Unknown columns are how identifiers leak."},
	{ColumnMissing, File, "The header lacks a column of the contract."},
	{ColumnRepeated, File, "The header names a column twice."},
	{SortOrder, File, "The rows are not sorted by unit and key; events, within a newborn, by time with blank times last."},
	{TooManyHeld, File, "More than a tenth of the rows of a file, and at least 20 rows, would be held."},
	{NoGoodRow, File, "Not one newborn row could be taken."},
	{MapInvalid, File, "The map of the source is not valid, or says something that the contract does not know."},
	{UnitMonthOwned, File, "Another source has already sent newborns of a unit's month; two sources would count them twice."},

	{RowShape, Document, "The row does not have one cell a column, or its quotes do not close on its line."},
	{RowEncoding, Document, "The row is not UTF-8, or is longer than 65,535 bytes."},
	{Identifier, Document, "A cell looks like an identifier or a date: social security or telephone number, e-mail or internet address, date, time of day, or seven or more digits in a row."},
	{IdentifierInEvents, Document, "An event row of the newborn has a cell that looks like an identifier or a date."},
	{KeyShape, Document, "The key is not a random UUID (version 4)."},
	{KeyRepeated, Document, "The same key stands in the delivery with different content; all of its rows are held."},
	{StatusUnknown, Document, "record_status is neither present nor withdrawn."},
	{UnitUnknown, Document, "The unit is not one of the manifest's."},
	{MonthShape, Document, "The month is not of the form YYYY-MM (in privacy mode year-only: the year, YYYY)."},
	{MonthOutsidePeriod, Document, "The month lies outside the manifest's period."},
	{MonthInFuture, Document, "The month lies after the month in which the delivery was extracted."},
	{PrivacyMode, Document, "The row says more about order or time of day of the birth than the privacy mode year-only allows (birth_sequence, shift)."},
	{EventKind, Document, "The kind of the event is not in the list. The row is held; no section of the newborn counts as charted."},
	{EventWithoutNewborn, Document, "The delivery has no newborn row with the event's unit and key."},
	{EventTooMany, Document, "The newborn has more event rows than a newborn can have (5,000)."},
	{BirthsValue, Document, "A cell of births.csv is not what the contract asks for."},
	{BirthsRepeated, Document, "births.csv gives another count for the same unit, month and week; the first stands."},

	{CodeUnknown, Value, "The value is not in the code list."},
	{NotNumber, Value, "The value is not a plain decimal number with a point."},
	{NotWhole, Value, "The value is not a whole number."},
	{OutOfRange, Value, "The number lies outside what is possible."},
	{KeyValueShape, Value, "The value is not a random UUID (version 4)."},
	{NoneWithOthers, Value, "The list says none and something else."},
	{TemperatureFahrenheit, Value, "A temperature from 77 to 110: probably degrees Fahrenheit. It is never converted by guess."},
	{OxygenFraction, Value, "An oxygen concentration of 1 or less: probably a fraction where per cent is asked for. It is never converted by guess."},
	{NotApplicable, Value, "A value was sent for a question that another answer rules out."},
	{BirthSequenceRepeated, Value, "Two newborns of one unit and month have the same birth_sequence; both numbers are set aside."},
	{BornHereOutside, Value, "place is outside and born_here is yes; born_here is set aside."},
	{DiedThenAdmitted, Value, "died_place is birth and admitted is yes; both are set aside."},
	{CordHelpWithSetup, Value, "cord_exception says that no set-up was there, cord_intact_setup says that it was used; the exception is set aside."},
	{PrivacyBirthSet, Value, "birth_set links siblings, which the privacy mode year-only does not allow."},
	{EventCode, Value, "The code of the event is not in the list of its kind, or is missing. The event is set aside and its section is not charted."},
	{EventEmpty, Value, "The event has neither code nor value. It is set aside and its section is not charted."},
	{EventNoValue, Value, "The kind of the event, or its code, takes no value."},
	{TimeBeforeBirth, Value, "The time is before birth and begun_before_birth is not yes. The event stays, its time is unknown."},
	{EndBeforeBegin, Value, "The end is earlier than the begin, on the same clock and in the same group. The event stays, its time is unknown."},
	{PressureOrder, Value, "The peak pressure is not above the end pressure of the same group and time; both are set aside."},
	{CPAPSelfInflating, Value, "CPAP with a self-inflating bag, which cannot hold it; the device is set aside."},
	{OutcomeContradiction, Value, "An airway attempt has both outcomes, placed and failed; both are set aside, the attempt stays."},
	{DoseImplausible, Value, "A dose of epinephrine at ten times the usual range or more (0.1 mg/kg into a vein, 0.5 mg/kg into the trachea); the number is set aside, the dose stays given."},

	{"gestation-rare", Flag, "Gestation below 22+0 or above 42+6 weeks: check the dating."},
	{"apgar-10-missing", Flag, "Apgar at 5 minutes below 7 and none at 10 minutes."},
	{"event-late", Flag, "A first inflation later than 20 minutes or another event later than 60 minutes after birth."},
	{"heart-rate-never", Flag, "Ventilated and no heart rate on record."},
	{"saturation-early", Flag, "A saturation before 30 s, or of 95 % and more within two minutes."},
	{"pressure-unusual", Flag, "A peak pressure above 40, a first one outside 15 to 30, or an end pressure above 8 cmH2O."},
	{"airway-size", Flag, "Mask, supraglottic airway or tube of a size unusual for weight or gestation."},
	{"airway-unconfirmed", Flag, "A tube placed without a confirmation on record."},
	{"attempt-unusual", Flag, "More than six airway attempts, or one shorter than 3 s or longer than 120 s."},
	{"epinephrine-alone", Flag, "Epinephrine without compressions on record. Blanking the dose would hide a drug that was given."},
	{"compressions-alone", Flag, "Compressions before ventilation, or at a heart rate of 60 and more."},
	{"temperature-rare", Flag, "An admission temperature below 34.0 or above 38.5 Cel, or one later than 60 minutes."},
	{"copied-times", Flag, "Two newborns of one multiple birth with identical times of all events."},
}

// Applied says whether the program applies the rule. Flags are written down so
// that nobody turns them into refusals; the etl does not raise them yet.
func (r Rule) Applied() bool { return r.Scope != Flag }
