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
	FactBegunBeforeBirth
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
	FactAttended
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
	FactToSignLo
	FactToSignHi
	FactSignLo
	FactSignHi
	FactMaskVentilated
	FactAnyStep
	FactStepCount
	FactTube
	FactCompressions
	FactLaterResuscitation
	FactTempLate
	FactOrderLoose

	FactSupported
	FactFirstSupportLo
	FactFirstSupportHi
	FactHeartRateKnown
	FactHeartRateLo
	FactHeartRateHi
	FactStretchLo
	FactStretchHi
	FactHeartRateRechecked
	FactToRecheckLo
	FactToRecheckHi
	FactRoseTo100
	FactTo100Lo
	FactTo100Hi
	FactFirstCheck
	FactStepWhenNeeded
	FactToStepLo
	FactToStepHi
	FactAirwayReason
	FactChestBeforeAirway
	FactBasicSteps
	FactBasicStepsRequired
	FactBasicStepsOnRecord
	FactPressureDeviceNotKept
	FactGasFailure
	FactStartingOxygenPct
	FactCompressionsBeforeOxygen
	FactOximeterInTime
	FactOximeterLo
	FactOximeterHi
	FactToOximeterLo
	FactToOximeterHi
	FactSpo2At5Min
	FactSpo2At10Min
	FactOnOxygenAt10Min
	FactEcgUsed
	FactPpvTotalLo
	FactPpvTotalHi
	FactTubeReason
	FactTubeAttempts
	FactFirstTubePlaced
	FactLongestAttemptLo
	FactLongestAttemptHi
	FactSaturationFall
	FactSupraglotticBeforeSecondTube
	FactCpapGiven
	FactTubeBeforeLeaving
	FactClampLo
	FactClampHi
	FactCordExcepted

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
	FactBegunBeforeBirth:    BegunBeforeBirth,
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
