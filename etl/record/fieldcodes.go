package record

// The codes of the newborn fields: each is the place of its word in the list
// of its field. A SetType field holds code i as bit i-1.
const (
	ShiftDay          uint8 = 1
	ShiftNight        uint8 = 2
	ShiftWeekendDay   uint8 = 3
	ShiftWeekendNight uint8 = 4

	PlacePlannedBirthRoom    uint8 = 1
	PlaceOtherBirthRoom      uint8 = 2
	PlaceElsewhereInHospital uint8 = 3
	PlaceOutside             uint8 = 4

	CareEndedStayed uint8 = 1
	CareEndedMoved  uint8 = 2
	CareEndedDied   uint8 = 3

	GestationBasisEarlyUltrasound uint8 = 1
	GestationBasisOther           uint8 = 2
	GestationBasisUnknown         uint8 = 3

	SexFemale        uint8 = 1
	SexMale          uint8 = 2
	SexNotDetermined uint8 = 3

	PlacentaOne      uint8 = 1
	PlacentaSeparate uint8 = 2
	PlacentaUnknown  uint8 = 3

	ModeOfBirthSpontaneous uint8 = 1
	ModeOfBirthAssisted    uint8 = 2
	ModeOfBirthCaesarean   uint8 = 3

	UrgencyPlanned   uint8 = 1
	UrgencyUnplanned uint8 = 2
	UrgencyEmergency uint8 = 3

	PresentationHead   uint8 = 1
	PresentationBreech uint8 = 2
	PresentationOther  uint8 = 3

	AntenatalSteroidsNone    uint8 = 1
	AntenatalSteroidsPartial uint8 = 2
	AntenatalSteroidsFull    uint8 = 3

	MajorAnomalyNone                uint8 = 1
	MajorAnomalyDiaphragmaticHernia uint8 = 2
	MajorAnomalyAirway              uint8 = 3
	MajorAnomalyHeart               uint8 = 4
	MajorAnomalyOther               uint8 = 5

	PlanOfCareFull         uint8 = 1
	PlanOfCareLimitsAgreed uint8 = 2
	PlanOfCareComfort      uint8 = 3

	PlanLimitsCompressions uint8 = 1
	PlanLimitsDrugs        uint8 = 2
	PlanLimitsAirway       uint8 = 3

	ExceptionReasonDecisionAwaited uint8 = 1
	ExceptionReasonLimitAgreed     uint8 = 2
	ExceptionReasonOther           uint8 = 3

	CordMethodClamped      uint8 = 1
	CordMethodMilkedIntact uint8 = 2
	CordMethodMilkedCut    uint8 = 3
	CordMethodBySigns      uint8 = 4

	CordExceptionHelpNeededNoSetup uint8 = 1
	CordExceptionAbruptionOrPrevia uint8 = 2
	CordExceptionCordAccident      uint8 = 3
	CordExceptionOnePlacenta       uint8 = 4
	CordExceptionOther             uint8 = 5

	CordIntactSetupAvailable uint8 = 1
	CordIntactSetupUsed      uint8 = 2
	CordIntactSetupNone      uint8 = 3

	SupportOnLeavingNone         uint8 = 1
	SupportOnLeavingOxygen       uint8 = 2
	SupportOnLeavingHighFlow     uint8 = 3
	SupportOnLeavingCPAP         uint8 = 4
	SupportOnLeavingPPVMask      uint8 = 5
	SupportOnLeavingSupraglottic uint8 = 6
	SupportOnLeavingTube         uint8 = 7

	TempSiteAxilla uint8 = 1
	TempSiteRectum uint8 = 2
	TempSiteSkin   uint8 = 3
	TempSiteEar    uint8 = 4
	TempSiteOther  uint8 = 5

	SkinInjuryMaskNone       uint8 = 1
	SkinInjuryMaskRedness    uint8 = 2
	SkinInjuryMaskBrokenSkin uint8 = 3

	DiedPlaceBirth     uint8 = 1
	DiedPlaceUnit      uint8 = 2
	DiedPlaceElsewhere uint8 = 3
)
