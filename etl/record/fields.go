package record

// Field is a column of newborns.csv beyond unit, key, record_status and month.
type Field uint8

// The fields of a newborn, in the order of the contract.
const (
	BirthSequence Field = iota
	Shift
	Place
	BornHere
	CareEnded
	CareEndedMin
	SignsOfLife
	ResuscitationBegun
	GestationWk
	GestationD
	GestationBasis
	BirthWeightG
	Sex
	BirthTimeUnitS
	BirthSet
	BirthOrder
	Placenta
	ModeOfBirth
	Urgency
	Presentation
	AntenatalSteroids
	MajorAnomaly
	HeartBlockKnown
	PlanOfCare
	PlanLimits
	DecisionAwaitedS
	ExceptionReason
	ExceptionS
	NoticeMin
	Briefing
	Debriefing
	NewbornTeamAtBirth
	TeamCalledS
	TeamArrivedS
	PeoplePresent
	Apgar1
	Apgar5
	Apgar10
	CordMethod
	CordException
	CordIntactSetup
	BegunBeforeBirth
	SupportOnLeaving
	LeftMin
	Admitted
	AdmittedDirect
	ArrivedMin
	AdmissionTempCel
	TempMin
	TempSite
	CoolingStartMin
	MaternalFever
	FirstPh
	CoolingTreatment
	Seizures
	AliveAtD
	AirLeak
	AirLeakMin
	AirLeakSymptomatic
	AirLeakAfterSurgery
	SkinInjuryMask
	DiedMin
	DiedPlace
	ChartedAssessments
	ChartedSupport
	ChartedSteps
	ChartedAirway
	ChartedCompressionsDrugs
	ChartedCord
	ChartedTemperature
	ChartedTeam

	NumFields
)

// Fields is the dictionary of newborns.csv, indexed by Field.
var Fields = [NumFields]Spec{
	BirthSequence:            {Name: "birth_sequence", Type: IntegerType, Min: 1, Max: 99999, Meaning: "Order of the birth within unit and month, made by the source; gaps are allowed and printed."},
	Shift:                    {Name: "shift", Type: CodeType, Codes: []string{"day", "night", "weekend-day", "weekend-night"}, Meaning: "Shift of the birth, made by the source."},
	Place:                    {Name: "place", Type: CodeType, Codes: []string{"planned-birth-room", "other-birth-room", "elsewhere-in-hospital", "outside"}, Meaning: "Place of birth."},
	BornHere:                 {Name: "born_here", Type: YesNoType, Meaning: "Complete birth inside the buildings of this hospital."},
	CareEnded:                {Name: "care_ended", Type: CodeType, Codes: []string{"stayed", "moved", "died"}, Meaning: "How care here ended."},
	CareEndedMin:             {Name: "care_ended_min", Type: DecimalType, Min: 0, Max: 527040, Unit: "min", Meaning: "Minutes from birth to the end of care here.", Only: "care ended by a move or by death"},
	SignsOfLife:              {Name: "signs_of_life", Type: YesNoType, Meaning: "Any sign of life at birth."},
	ResuscitationBegun:       {Name: "resuscitation_begun", Type: YesNoType, Meaning: "Any resuscitation begun."},
	GestationWk:              {Name: "gestation_wk", Type: IntegerType, Min: 20, Max: 44, Unit: "wk", Meaning: "Completed weeks of gestation."},
	GestationD:               {Name: "gestation_d", Type: IntegerType, Min: 0, Max: 6, Unit: "d", Meaning: "Days beyond the completed weeks; blank: days not known.", Only: "weeks of gestation are recorded"},
	GestationBasis:           {Name: "gestation_basis", Type: CodeType, Codes: []string{"early-ultrasound", "other", "unknown"}, Meaning: "How gestation was dated."},
	BirthWeightG:             {Name: "birth_weight_g", Type: IntegerType, Min: 200, Max: 7000, Unit: "g", Meaning: "Birth weight."},
	Sex:                      {Name: "sex", Type: CodeType, Codes: []string{"female", "male", "not-determined"}, Meaning: "Sex."},
	BirthTimeUnitS:           {Name: "birth_time_unit_s", Type: IntegerType, Min: 1, Max: 60, OneOf: []float64{1, 5, 10, 30, 60}, Unit: "s", Meaning: "Unit to which the birth's own reading was taken: 1, 5, 10, 30 or 60 s."},
	BirthSet:                 {Name: "birth_set", Type: UUIDType, Meaning: "Random key shared by the newborns of one multiple birth."},
	BirthOrder:               {Name: "birth_order", Type: IntegerType, Min: 1, Max: 9, Meaning: "Order within a multiple birth.", Only: "multiple birth"},
	Placenta:                 {Name: "placenta", Type: CodeType, Codes: []string{"one", "separate", "unknown"}, Meaning: "Placentas of a multiple birth.", Only: "multiple birth"},
	ModeOfBirth:              {Name: "mode_of_birth", Type: CodeType, Codes: []string{"spontaneous", "assisted", "caesarean"}, Meaning: "Mode of birth."},
	Urgency:                  {Name: "urgency", Type: CodeType, Codes: []string{"planned", "unplanned", "emergency"}, Meaning: "Urgency of the birth."},
	Presentation:             {Name: "presentation", Type: CodeType, Codes: []string{"head", "breech", "other"}, Meaning: "Presentation."},
	AntenatalSteroids:        {Name: "antenatal_steroids", Type: CodeType, Codes: []string{"none", "partial", "full"}, Meaning: "Antenatal steroids."},
	MajorAnomaly:             {Name: "major_anomaly", Type: SetType, Codes: []string{"none", "diaphragmatic-hernia", "airway", "heart", "other"}, Meaning: "Major anomalies known before birth."},
	HeartBlockKnown:          {Name: "heart_block_known", Type: YesNoType, Meaning: "Heart block known before birth."},
	PlanOfCare:               {Name: "plan_of_care", Type: CodeType, Codes: []string{"full", "limits-agreed", "comfort"}, Meaning: "Plan of care agreed before birth."},
	PlanLimits:               {Name: "plan_limits", Type: SetType, Codes: []string{"compressions", "drugs", "airway"}, Meaning: "Steps excluded by an agreed limit.", Only: "limits were agreed"},
	DecisionAwaitedS:         {Name: "decision_awaited_s", Type: IntegerType, Min: 0, Max: 86400, Unit: "s", Meaning: "Seconds from birth to a decision that was awaited."},
	ExceptionReason:          {Name: "exception_reason", Type: CodeType, Codes: []string{"decision-awaited", "limit-agreed", "other"}, Meaning: "Reason documented at the time for not doing or for delaying a step."},
	ExceptionS:               {Name: "exception_s", Type: IntegerType, Min: 0, Max: 86400, Unit: "s", Meaning: "Seconds from birth at which the reason was documented.", Only: "an exception reason is recorded"},
	NoticeMin:                {Name: "notice_min", Type: DecimalType, Min: 0, Max: 10080, Unit: "min", Section: Team, Meaning: "Minutes of notice the newborn team had."},
	Briefing:                 {Name: "briefing", Type: YesNoType, Section: Team, Meaning: "Team briefing before the birth."},
	Debriefing:               {Name: "debriefing", Type: YesNoType, Section: Team, Meaning: "Team debriefing."},
	NewbornTeamAtBirth:       {Name: "newborn_team_at_birth", Type: YesNoType, Section: Team, Meaning: "Someone whose only task was the newborn was present at birth."},
	TeamCalledS:              {Name: "team_called_s", Type: IntegerType, Min: -86400, Max: 86400, Unit: "s", Section: Team, Meaning: "Seconds from birth to the call; negative before birth."},
	TeamArrivedS:             {Name: "team_arrived_s", Type: IntegerType, Min: -86400, Max: 86400, Unit: "s", Section: Team, Meaning: "Seconds from birth to the arrival; negative before birth."},
	PeoplePresent:            {Name: "people_present", Type: IntegerType, Min: 0, Max: 30, Section: Team, Meaning: "People present for the newborn."},
	Apgar1:                   {Name: "apgar_1", Type: IntegerType, Min: 0, Max: 10, Unit: "{score}", Meaning: "Apgar score at 1 minute."},
	Apgar5:                   {Name: "apgar_5", Type: IntegerType, Min: 0, Max: 10, Unit: "{score}", Meaning: "Apgar score at 5 minutes."},
	Apgar10:                  {Name: "apgar_10", Type: IntegerType, Min: 0, Max: 10, Unit: "{score}", Meaning: "Apgar score at 10 minutes."},
	CordMethod:               {Name: "cord_method", Type: CodeType, Codes: []string{"clamped", "milked-intact", "milked-cut", "by-signs"}, Section: Cord, Meaning: "How the cord was managed."},
	CordException:            {Name: "cord_exception", Type: CodeType, Codes: []string{"help-needed-no-setup", "abruption-or-previa", "cord-accident", "one-placenta", "other"}, Section: Cord, Meaning: "Documented reason for clamping early."},
	CordIntactSetup:          {Name: "cord_intact_setup", Type: CodeType, Codes: []string{"available", "used", "none"}, Section: Cord, Meaning: "Set-up for help with the cord intact."},
	BegunBeforeBirth:         {Name: "begun_before_birth", Type: YesNoType, Section: Support, Meaning: "Ventilation begun with the cord attached before complete birth."},
	SupportOnLeaving:         {Name: "support_on_leaving", Type: CodeType, Codes: []string{"none", "oxygen", "high-flow", "cpap", "ppv-mask", "supraglottic", "tube"}, Section: Support, Meaning: "Support on leaving the place of birth."},
	LeftMin:                  {Name: "left_min", Type: DecimalType, Min: 0, Max: 10080, Unit: "min", Meaning: "Minutes from birth to leaving the place of birth."},
	Admitted:                 {Name: "admitted", Type: YesNoType, Meaning: "Admitted to a newborn unit of this hospital."},
	AdmittedDirect:           {Name: "admitted_direct", Type: YesNoType, Meaning: "Admitted directly from the place of birth.", Only: "admitted"},
	ArrivedMin:               {Name: "arrived_min", Type: DecimalType, Min: 0, Max: 527040, Unit: "min", Meaning: "Minutes from birth to arrival on the unit.", Only: "admitted or moved"},
	AdmissionTempCel:         {Name: "admission_temp_cel", Type: DecimalType, Min: 25, Max: 43, Unit: "Cel", Section: Temperature, Meaning: "First temperature on the unit."},
	TempMin:                  {Name: "temp_min", Type: DecimalType, Min: 0, Max: 10080, Unit: "min", Section: Temperature, Meaning: "Minutes from birth to that temperature."},
	TempSite:                 {Name: "temp_site", Type: CodeType, Codes: []string{"axilla", "rectum", "skin", "ear", "other"}, Section: Temperature, Meaning: "Where that temperature was taken."},
	CoolingStartMin:          {Name: "cooling_start_min", Type: DecimalType, Min: 0, Max: 10080, Unit: "min", Meaning: "Minutes from birth to the start of cooling treatment."},
	MaternalFever:            {Name: "maternal_fever", Type: YesNoType, Meaning: "Maternal fever in labour."},
	FirstPh:                  {Name: "first_ph", Type: DecimalType, Min: 6, Max: 8, Unit: "[pH]", Meaning: "First blood gas pH."},
	CoolingTreatment:         {Name: "cooling_treatment", Type: YesNoType, Meaning: "Cooling treatment given."},
	Seizures:                 {Name: "seizures", Type: YesNoType, Meaning: "Seizures."},
	AliveAtD:                 {Name: "alive_at_d", Type: IntegerType, Min: 0, Max: 366, Unit: "d", Meaning: "Last day of life on which the newborn was known to be alive."},
	AirLeak:                  {Name: "air_leak", Type: YesNoType, Meaning: "Air leak."},
	AirLeakMin:               {Name: "air_leak_min", Type: DecimalType, Min: 0, Max: 527040, Unit: "min", Meaning: "Minutes from birth to the air leak.", Only: "air leak"},
	AirLeakSymptomatic:       {Name: "air_leak_symptomatic", Type: YesNoType, Meaning: "Air leak with symptoms.", Only: "air leak"},
	AirLeakAfterSurgery:      {Name: "air_leak_after_surgery", Type: YesNoType, Meaning: "Air leak after surgery.", Only: "air leak"},
	SkinInjuryMask:           {Name: "skin_injury_mask", Type: CodeType, Codes: []string{"none", "redness", "broken-skin"}, Meaning: "Facial skin injury from the mask."},
	DiedMin:                  {Name: "died_min", Type: DecimalType, Min: 0, Max: 527040, Unit: "min", Meaning: "Minutes from birth to death.", Only: "died"},
	DiedPlace:                {Name: "died_place", Type: CodeType, Codes: []string{"birth", "unit", "elsewhere"}, Meaning: "Place of death.", Only: "died"},
	ChartedAssessments:       {Name: "charted_assessments", Type: MarkType, Section: Assessments, Meaning: "The source marked the section assessments as filled in."},
	ChartedSupport:           {Name: "charted_support", Type: MarkType, Section: Support, Meaning: "The source marked the section support as filled in."},
	ChartedSteps:             {Name: "charted_steps", Type: MarkType, Section: Steps, Meaning: "The source marked the section steps as filled in."},
	ChartedAirway:            {Name: "charted_airway", Type: MarkType, Section: Airway, Meaning: "The source marked the section airway as filled in."},
	ChartedCompressionsDrugs: {Name: "charted_compressions_drugs", Type: MarkType, Section: CompressionsDrugs, Meaning: "The source marked the section compressions and drugs as filled in."},
	ChartedCord:              {Name: "charted_cord", Type: MarkType, Section: Cord, Meaning: "The source marked the section cord as filled in."},
	ChartedTemperature:       {Name: "charted_temperature", Type: MarkType, Section: Temperature, Meaning: "The source marked the section temperature as filled in."},
	ChartedTeam:              {Name: "charted_team", Type: MarkType, Section: Team, Meaning: "The source marked the section team as filled in."},
}
