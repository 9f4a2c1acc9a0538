package synth

// band holds the shares and times of one gestation band. They are rounded from
// published figures where there are any (a Norwegian year of 4,693 births, BMJ
// Paediatr Open 2019;3:e000592; 98 ventilated newborns, Acta Paediatr 2023,
// PMID 36607256; 598 intubations at birth, Pediatrics 2019;143:e20180902) and
// invented otherwise. They make records that look right; they are no reference.
type band struct {
	weeks              [2]int
	weight, weightSD   float64
	caesarean          float64
	multiple           float64
	steroids           float64
	anomaly            float64
	comfort            float64
	ppv, cpap          float64 // shares of newborns; CPAP without ventilation
	secondary          float64 // of the ventilated
	below100, below60  float64 // of the ventilated, at start
	first, firstSigma  float64 // seconds to the first inflation, log-normal
	answer, answerSig  float64 // seconds from there to a heart rate of 100
	duration           float64 // seconds of ventilation, median
	fails              float64 // first check fails, of the ventilated
	steps              float64 // any corrective step, of the mask-ventilated
	moreSteps          float64 // mean number beyond the first
	tube, success      float64 // tube at birth of all; success of an attempt
	compressions       float64 // of all
	epinephrine        float64 // of those
	oxygen             float64 // starting concentration, %
	saturation         float64 // 100 minus the median at five minutes
	deferred           float64 // cord clamped late
	clamp, clampSD     float64
	temperature, tSD   float64
	admitted           float64
	oximeter, heartSec float64 // medians of seconds to sensor and first heart rate
	airLeak            float64
	death              float64
}

// bands are 22-24, 25-27, 28-31, 32-33, 34-36, 37+ weeks.
var bands = [6]band{
	{[2]int{22, 24}, 600, 100, .55, .22, .75, .03, .25, .92, .05, .02, .60, .20, 60, .50, 75, 1.3, 300, .45, .60, 1.0, .85, .42, .080, .45, 30, 21, .35, 55, 20, 35.9, .80, 1, 60, 55, .06, .03},
	{[2]int{25, 27}, 880, 180, .65, .24, .90, .03, .015, .85, .12, .04, .55, .16, 62, .50, 73, 1.4, 260, .42, .58, 1.0, .50, .45, .048, .40, 30, 20, .40, 58, 20, 36.0, .80, 1, 60, 55, .04, .008},
	{[2]int{28, 31}, 1400, 320, .62, .25, .90, .04, .003, .55, .38, .08, .48, .13, 66, .50, 60, 1.0, 180, .38, .50, .8, .18, .48, .018, .40, 30, 19, .45, 62, 20, 36.3, .60, 1, 65, 60, .03, .003},
	{[2]int{32, 33}, 1950, 380, .55, .24, .80, .04, .002, .28, .35, .12, .42, .11, 70, .50, 48, .7, 130, .33, .42, .6, .05, .52, .008, .35, 25, 19, .50, 65, 20, 36.5, .50, 1, 80, 60, .025, .0015},
	{[2]int{34, 36}, 2550, 450, .42, .16, .45, .03, .001, .12, .14, .15, .38, .10, 72, .52, 42, .6, 110, .30, .38, .5, .012, .55, .003, .30, 21, 16, .55, 70, 25, 36.6, .50, .40, 100, 50, .016, .0008},
	{[2]int{37, 41}, 3350, 450, .31, .02, .02, .015, .0005, .030, .020, .18, .35, .10, 75, .55, 40, .6, 100, .28, .35, .5, .0035, .55, .0010, .30, 21, 12, .70, 90, 40, 36.8, .40, .045, 130, 50, .003, .0003},
}

// mixes are the shares of the bands among a unit's births: a centre's (from
// memory, tuned) and a general hospital's (United States births of 2022, total
// preterm 10.38 %, NVSR 73(2); the split from memory).
var mixes = map[string][]float64{
	"centre":  {.008, .010, .025, .028, .100, .829},
	"general": {.0020, .0045, .0090, .0120, .0760, .8965},
}
