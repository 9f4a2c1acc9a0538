// Package metrics runs the catalogue of measures over the registry and turns
// what comes back into what a report shows.
//
//  1. [Compute] projects every stale month of a unit in one pass and replaces
//     its cells (counts by gestation band; single values and events where a
//     measure needs them).
//  2. [Freeze] computes and stores the baseline of every chart whose declared
//     window has closed. No later night moves it.
//  3. [View] builds, from cells and baselines alone, the page of every measure:
//     series, chart, signals, flow of newborns, what changed, footnotes.
//
// Clock, logger and random source are arguments; months close by what the
// manifests say, never by the clock. Missing is never zero and no NaN leaves
// the package.
package metrics
