package record

// The codes of the event kinds: each is the place of its word in the list of
// its kind. Support codes serve begun and ended rows, Attempt codes likewise,
// Device codes also serve device-not-kept-here.
const (
	HRAuscultation EventCode = 1
	HRPalpation    EventCode = 2
	HROximeter     EventCode = 3
	HRECG          EventCode = 4
	HRAbsent       EventCode = 5
	HRBelow60      EventCode = 6
	HR60To99       EventCode = 7
	HR100OrMore    EventCode = 8
	HRNoReading    EventCode = 9

	MonitorOximeter EventCode = 1
	MonitorECG      EventCode = 2

	SaturationReading   EventCode = 1
	SaturationNoReading EventCode = 2

	OxygenSet EventCode = 1

	BreathingNone      EventCode = 1
	BreathingGasping   EventCode = 2
	BreathingBreathing EventCode = 3
	BreathingCrying    EventCode = 4

	ChestMoving    EventCode = 1
	ChestNotMoving EventCode = 2

	CO2Detected    EventCode = 1
	CO2NotDetected EventCode = 2

	SupportCPAP     EventCode = 1
	SupportPPV      EventCode = 2
	SupportFreeFlow EventCode = 3

	StepAirwayClearing EventCode = 1
	StepHeadPosition   EventCode = 2
	StepMaskSeal       EventCode = 3
	StepMouthOpening   EventCode = 4
	StepPressure       EventCode = 5

	AttemptTube         EventCode = 1
	AttemptSupraglottic EventCode = 2

	DoseEpinephrineIV       EventCode = 1
	DoseEpinephrineTracheal EventCode = 2
	DoseVolume              EventCode = 3
	DoseOther               EventCode = 4

	ThermalPlasticWrap EventCode = 1
	ThermalMattress    EventCode = 2
	ThermalHat         EventCode = 3
	ThermalSkinToSkin  EventCode = 4
	ThermalWarmGas     EventCode = 5
	ThermalDried       EventCode = 6

	StimulatedDrying      EventCode = 1
	StimulatedRubbing     EventCode = 2
	StimulatedSuctionOnly EventCode = 3

	DeviceSelfInflating EventCode = 1
	DeviceFlowInflating EventCode = 2
	DeviceTPiece        EventCode = 3
	DeviceVentilator    EventCode = 4

	InterfaceMask         EventCode = 1
	InterfaceNasal        EventCode = 2
	InterfaceSupraglottic EventCode = 3
	InterfaceTube         EventCode = 4

	ReasonMaskVentilationFailing EventCode = 1
	ReasonSurfactant             EventCode = 2
	ReasonTransportOrSurgery     EventCode = 3
	ReasonFirstInterface         EventCode = 4
	ReasonOther                  EventCode = 5

	ScopeVideo  EventCode = 1
	ScopeDirect EventCode = 2

	OutcomePlaced    EventCode = 1
	OutcomeFailed    EventCode = 2
	OutcomeDislodged EventCode = 3

	ConfirmedCO2   EventCode = 1
	ConfirmedOther EventCode = 2

	OperatorConsultant        EventCode = 1
	OperatorFellow            EventCode = 2
	OperatorResident          EventCode = 3
	OperatorNursePractitioner EventCode = 4
	OperatorNurse             EventCode = 5
	OperatorMidwife           EventCode = 6
	OperatorParamedic         EventCode = 7
	OperatorOther             EventCode = 8
)
