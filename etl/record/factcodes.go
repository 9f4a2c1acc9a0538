package record

// The codes of the derived facts: each is the place of its word in the list of
// its fact.
const (
	Band22      uint8 = 1
	Band25      uint8 = 2
	Band28      uint8 = 3
	Band32      uint8 = 4
	Band34      uint8 = 5
	Band37      uint8 = 6
	BandUnknown uint8 = 7

	NeedYes      uint8 = 1
	NeedNo       uint8 = 2
	NeedPresumed uint8 = 3

	VentilatedYes   uint8 = 1
	VentilatedNo    uint8 = 2
	VentilatedLater uint8 = 3

	HrAtStartBelow100  uint8 = 1
	HrAtStart100OrMore uint8 = 2

	FirstEndHeartRate100   uint8 = 1
	FirstEndHeartRateRise  uint8 = 2
	FirstEndChestMovement  uint8 = 3
	FirstEndExhaledCo2     uint8 = 4
	FirstEndAirwayAttempt  uint8 = 5
	FirstEndCompressions   uint8 = 6
	FirstEndDrug           uint8 = 7
	FirstEndStopped        uint8 = 8
	FirstEndDied           uint8 = 9
	FirstEndObservationEnd uint8 = 10
	FirstEndUndecided      uint8 = 11

	TubeYes   uint8 = 1
	TubeNo    uint8 = 2
	TubeLater uint8 = 3

	CompressionsYes   uint8 = 1
	CompressionsNo    uint8 = 2
	CompressionsLater uint8 = 3

	SupportedYes   uint8 = 1
	SupportedNo    uint8 = 2
	SupportedLater uint8 = 3

	CheckFailed uint8 = 1
	CheckPassed uint8 = 2
	CheckEnded  uint8 = 3

	ChestBeforeMoving    uint8 = 1
	ChestBeforeNotMoving uint8 = 2
	ChestBeforeNone      uint8 = 3
)
