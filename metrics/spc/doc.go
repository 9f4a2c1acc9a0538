// Package spc computes control charts and run charts: centre, limits, phases,
// signals, warnings. It is arithmetic only: no files, no clock, no global state;
// where chance is needed the random source is an argument.
//
// [Plot] turns a [Series] into a complete [Chart], which a renderer draws without
// computing anything. What holds for every kind:
//
//   - A point is a signal only strictly beyond a limit. Differences under a
//     billionth of sigma count as rounding: such a point lies on the limit (or on
//     the centre line), not beyond it.
//   - A computed limit at or below 0 (counts, rates, gaps), or at or above 1 for a
//     proportion, is no limit: Lower or Upper is nil, LowerRaw or UpperRaw keeps
//     what was computed. Nothing can signal beyond no limit.
//   - A missing value and a zero denominator are gaps: never 0, drawn as a gap,
//     used for nothing. A row that is absent altogether is no gap: its neighbours
//     are successive.
//   - A point set aside is drawn, left out of centre and limits and skipped by run
//     rules, but still judged against the limits.
//   - A hollow point (month still open, or too much unknown) is drawn and neither
//     judged nor used for limits. Run rules pass over gaps, hollow points and
//     points set aside; a signal that does so says it.
//   - A point on the centre line neither counts towards a run nor breaks it
//     (Nelson 1984, from memory).
//   - Rules and moving ranges never cross the start of a phase. Phases come only
//     from the caller; an intervention is a label, not a phase.
//   - No result is NaN or infinite, and no input panics.
package spc
