package record

// Fact is a column of the facts that measures read.
type Fact uint8

// The facts: first the fields that pass through unchanged, then the derived ones.
//
// A time fact is an interval of seconds with two columns, _lo and _hi, both
// blank where nothing is known. An end that is not itself possible (a reading
// of whole clock minutes) is stored a quarter of a second inside, so that 60.25
// reads "later than 60 s"; recorded times never end in a quarter.
const (
	FactBirthSequence Fact = iota
	FactShift
	FactPlace
	FactBornHere
	FactCareEnded
	FactCareEndedMin
	FactSignsOfLife
	FactGestationWk
	FactGestationD
	FactBirthWeightG
	FactSex
	FactPlacenta
	FactModeOfBirth
	FactUrgency
	FactPresentation
	FactAntenatalSteroids
	FactHeartBlockKnown
	FactPlanOfCare
	FactDecisionAwaitedS
	FactExceptionReason
	FactExceptionS
	FactNoticeMin
	FactBriefing
	FactDebriefing
	FactNewbornTeamAtBirth
	FactApgar1
	FactApgar5
	FactCordMethod
	FactCordException
	FactCordIntactSetup
	FactSupportOnLeaving
	FactLeftMin
	FactAdmitted
	FactAdmittedDirect
	FactArrivedMin
	FactAdmissionTempCel
	FactTempMin
	FactTempSite
	FactCoolingStartMin
	FactMaternalFever
	FactAirLeak
	FactAirLeakMin
	FactAirLeakSymptomatic
	FactAirLeakAfterSurgery
	FactSkinInjuryMask
	FactDiedMin
	FactDiedPlace

	FactInPopulation
	FactGestationBand
	FactMultiple
	FactAnomalyHernia
	FactAnomalyAirway
	FactAnomalyHeart
	FactLimitCompressions
	FactLimitDrugs
	FactLimitAirway
	FactComfortOnly
	FactNeed
	FactSecondaryNeed
	FactVentilated
	FactFirstInterface
	FactFirstDevice
	FactFirstInflationLo
	FactFirstInflationHi
	FactHrAtStart
	FactHrAtStartValue
	FactFirstEnd
	FactEffective
	FactToFirstEndLo
	FactToFirstEndHi
	FactFirstEndLo
	FactFirstEndHi
	FactMaskVentilated
	FactAnyStep
	FactStepCount
	FactTube
	FactCompressions
	FactLaterResuscitation
	FactTempLate

	NumFacts
)

// Passed maps the facts that are fields passed through to their field.
var Passed = map[Fact]Field{
	FactBirthSequence:       BirthSequence,
	FactShift:               Shift,
	FactPlace:               Place,
	FactBornHere:            BornHere,
	FactCareEnded:           CareEnded,
	FactCareEndedMin:        CareEndedMin,
	FactSignsOfLife:         SignsOfLife,
	FactGestationWk:         GestationWk,
	FactGestationD:          GestationD,
	FactBirthWeightG:        BirthWeightG,
	FactSex:                 Sex,
	FactPlacenta:            Placenta,
	FactModeOfBirth:         ModeOfBirth,
	FactUrgency:             Urgency,
	FactPresentation:        Presentation,
	FactAntenatalSteroids:   AntenatalSteroids,
	FactHeartBlockKnown:     HeartBlockKnown,
	FactPlanOfCare:          PlanOfCare,
	FactDecisionAwaitedS:    DecisionAwaitedS,
	FactExceptionReason:     ExceptionReason,
	FactExceptionS:          ExceptionS,
	FactNoticeMin:           NoticeMin,
	FactBriefing:            Briefing,
	FactDebriefing:          Debriefing,
	FactNewbornTeamAtBirth:  NewbornTeamAtBirth,
	FactApgar1:              Apgar1,
	FactApgar5:              Apgar5,
	FactCordMethod:          CordMethod,
	FactCordException:       CordException,
	FactCordIntactSetup:     CordIntactSetup,
	FactSupportOnLeaving:    SupportOnLeaving,
	FactLeftMin:             LeftMin,
	FactAdmitted:            Admitted,
	FactAdmittedDirect:      AdmittedDirect,
	FactArrivedMin:          ArrivedMin,
	FactAdmissionTempCel:    AdmissionTempCel,
	FactTempMin:             TempMin,
	FactTempSite:            TempSite,
	FactCoolingStartMin:     CoolingStartMin,
	FactMaternalFever:       MaternalFever,
	FactAirLeak:             AirLeak,
	FactAirLeakMin:          AirLeakMin,
	FactAirLeakSymptomatic:  AirLeakSymptomatic,
	FactAirLeakAfterSurgery: AirLeakAfterSurgery,
	FactSkinInjuryMask:      SkinInjuryMask,
	FactDiedMin:             DiedMin,
	FactDiedPlace:           DiedPlace,
}

// FactSpecs is the dictionary of the facts, indexed by Fact.
var FactSpecs = [NumFacts]Spec{
	FactBirthSequence:       Fields[BirthSequence],
	FactShift:               Fields[Shift],
	FactPlace:               Fields[Place],
	FactBornHere:            Fields[BornHere],
	FactCareEnded:           Fields[CareEnded],
	FactCareEndedMin:        Fields[CareEndedMin],
	FactSignsOfLife:         Fields[SignsOfLife],
	FactGestationWk:         Fields[GestationWk],
	FactGestationD:          Fields[GestationD],
	FactBirthWeightG:        Fields[BirthWeightG],
	FactSex:                 Fields[Sex],
	FactPlacenta:            Fields[Placenta],
	FactModeOfBirth:         Fields[ModeOfBirth],
	FactUrgency:             Fields[Urgency],
	FactPresentation:        Fields[Presentation],
	FactAntenatalSteroids:   Fields[AntenatalSteroids],
	FactHeartBlockKnown:     Fields[HeartBlockKnown],
	FactPlanOfCare:          Fields[PlanOfCare],
	FactDecisionAwaitedS:    Fields[DecisionAwaitedS],
	FactExceptionReason:     Fields[ExceptionReason],
	FactExceptionS:          Fields[ExceptionS],
	FactNoticeMin:           Fields[NoticeMin],
	FactBriefing:            Fields[Briefing],
	FactDebriefing:          Fields[Debriefing],
	FactNewbornTeamAtBirth:  Fields[NewbornTeamAtBirth],
	FactApgar1:              Fields[Apgar1],
	FactApgar5:              Fields[Apgar5],
	FactCordMethod:          Fields[CordMethod],
	FactCordException:       Fields[CordException],
	FactCordIntactSetup:     Fields[CordIntactSetup],
	FactSupportOnLeaving:    Fields[SupportOnLeaving],
	FactLeftMin:             Fields[LeftMin],
	FactAdmitted:            Fields[Admitted],
	FactAdmittedDirect:      Fields[AdmittedDirect],
	FactArrivedMin:          Fields[ArrivedMin],
	FactAdmissionTempCel:    Fields[AdmissionTempCel],
	FactTempMin:             Fields[TempMin],
	FactTempSite:            Fields[TempSite],
	FactCoolingStartMin:     Fields[CoolingStartMin],
	FactMaternalFever:       Fields[MaternalFever],
	FactAirLeak:             Fields[AirLeak],
	FactAirLeakMin:          Fields[AirLeakMin],
	FactAirLeakSymptomatic:  Fields[AirLeakSymptomatic],
	FactAirLeakAfterSurgery: Fields[AirLeakAfterSurgery],
	FactSkinInjuryMask:      Fields[SkinInjuryMask],
	FactDiedMin:             Fields[DiedMin],
	FactDiedPlace:           Fields[DiedPlace],
	FactInPopulation:        {Name: "in_population", Type: YesNoType, Meaning: "Any sign of life or any resuscitation begun, born in this hospital, at 22 weeks or more, or gestation unknown with a weight of 500 g or more or unknown. Blank: cannot be told."},
	FactGestationBand:       {Name: "gestation_band", Type: CodeType, Codes: []string{"22-24", "25-27", "28-31", "32-33", "34-36", "37-plus", "unknown"}, Meaning: "Band of completed weeks."},
	FactMultiple:            {Name: "multiple", Type: YesNoType, Meaning: "From a multiple birth."},
	FactAnomalyHernia:       {Name: "anomaly_hernia", Type: YesNoType, Meaning: "Diaphragmatic hernia known before birth."},
	FactAnomalyAirway:       {Name: "anomaly_airway", Type: YesNoType, Meaning: "Airway anomaly known before birth."},
	FactAnomalyHeart:        {Name: "anomaly_heart", Type: YesNoType, Meaning: "Heart anomaly known before birth."},
	FactLimitCompressions:   {Name: "limit_compressions", Type: YesNoType, Meaning: "A limit agreed before birth excludes compressions."},
	FactLimitDrugs:          {Name: "limit_drugs", Type: YesNoType, Meaning: "A limit agreed before birth excludes drugs."},
	FactLimitAirway:         {Name: "limit_airway", Type: YesNoType, Meaning: "A limit agreed before birth excludes an airway attempt."},
	FactComfortOnly:         {Name: "comfort_only", Type: YesNoType, Meaning: "Comfort care was planned or decided and no ventilation, CPAP, tube, compressions or drug was given."},
	FactNeed:                {Name: "need", Type: CodeType, Codes: []string{"yes", "no", "presumed"}, Meaning: "Need of ventilation at one minute, judged at the first inflation or at 60 s, whichever came first. Presumed: ventilated by 60 s with neither breathing nor heart rate recorded before. Blank: cannot be told."},
	FactSecondaryNeed:       {Name: "secondary_need", Type: YesNoType, Meaning: "First ventilated after 60 s although there was no need at one minute."},
	FactVentilated:          {Name: "ventilated", Type: CodeType, Codes: []string{"yes", "no", "later"}, Meaning: "At least one inflation begun within 20 minutes of birth in this hospital; later: first inflation after that. Blank: cannot be told."},
	FactFirstInterface:      {Name: "first_interface", Type: CodeType, Codes: []string{"mask", "nasal", "supraglottic", "tube"}, Meaning: "Interface of the first inflation.", Only: "ventilated"},
	FactFirstDevice:         {Name: "first_device", Type: CodeType, Codes: []string{"self-inflating", "flow-inflating", "t-piece", "ventilator"}, Meaning: "Device of the first inflation.", Only: "ventilated"},
	FactFirstInflationLo:    {Name: "first_inflation_lo", Type: DecimalType, Min: -3600, Max: 86400, Unit: "s", Meaning: "Earliest time of the first inflation, seconds from complete birth.", Only: "ventilated"},
	FactFirstInflationHi:    {Name: "first_inflation_hi", Type: DecimalType, Min: -3600, Max: 86400, Unit: "s", Meaning: "Latest time of the first inflation, seconds from complete birth.", Only: "ventilated"},
	FactHrAtStart:           {Name: "hr_at_start", Type: CodeType, Codes: []string{"below-100", "100-or-more"}, Meaning: "Heart rate when ventilation started. Blank: cannot be told.", Only: "ventilated"},
	FactHrAtStartValue:      {Name: "hr_at_start_value", Type: IntegerType, Min: 0, Max: 300, Unit: "/min", Meaning: "Heart rate when ventilation started, where a value is known.", Only: "ventilated"},
	FactFirstEnd:            {Name: "first_end", Type: CodeType, Codes: []string{"heart-rate-100", "heart-rate-rise", "chest-movement", "exhaled-co2", "airway-attempt", "compressions", "drug", "stopped", "died", "observation-end", "undecided"}, Meaning: "What came first after the first inflation: a sign of effective ventilation, or an end that competes with it. Undecided: the times as recorded allow more than one. Blank: cannot be told.", Only: "ventilated"},
	FactEffective:           {Name: "effective", Type: YesNoType, Meaning: "The first end is a sign of effective ventilation. Blank: cannot be told or undecided.", Only: "ventilated"},
	FactToFirstEndLo:        {Name: "to_first_end_lo", Type: DecimalType, Min: 0, Max: 86400, Unit: "s", Meaning: "Shortest time from the first inflation to the first end.", Only: "ventilated"},
	FactToFirstEndHi:        {Name: "to_first_end_hi", Type: DecimalType, Min: 0, Max: 86400, Unit: "s", Meaning: "Longest time from the first inflation to the first end.", Only: "ventilated"},
	FactFirstEndLo:          {Name: "first_end_lo", Type: DecimalType, Min: -3600, Max: 86400, Unit: "s", Meaning: "Earliest time of the first end, seconds from complete birth.", Only: "ventilated"},
	FactFirstEndHi:          {Name: "first_end_hi", Type: DecimalType, Min: -3600, Max: 86400, Unit: "s", Meaning: "Latest time of the first end, seconds from complete birth.", Only: "ventilated"},
	FactMaskVentilated:      {Name: "mask_ventilated", Type: YesNoType, Meaning: "Ventilated by mask or nasal interface within 20 minutes of birth. Blank: cannot be told."},
	FactAnyStep:             {Name: "any_step", Type: YesNoType, Meaning: "Any corrective step on record from the first inflation to the first airway attempt. No: none on record in a section marked as charted. Blank: cannot be told.", Only: "mask_ventilated"},
	FactStepCount:           {Name: "step_count", Type: IntegerType, Min: 0, Max: 99, Meaning: "Corrective steps on record in that time, in a section marked as charted.", Only: "mask_ventilated"},
	FactTube:                {Name: "tube", Type: CodeType, Codes: []string{"yes", "no", "later"}, Meaning: "Tube placed or attempted: yes within 15 minutes of birth in any place, later, or no. Blank: cannot be told or undecided."},
	FactCompressions:        {Name: "compressions", Type: CodeType, Codes: []string{"yes", "no", "later"}, Meaning: "Compressions begun: yes within 20 minutes of birth in this hospital, later, or no. Blank: cannot be told or undecided."},
	FactLaterResuscitation:  {Name: "later_resuscitation", Type: YesNoType, Meaning: "Resuscitated later than 20 minutes after birth."},
	FactTempLate:            {Name: "temp_late", Type: YesNoType, Meaning: "The first temperature was taken more than 15 minutes after arrival.", Only: "a temperature and both times are recorded"},
}
