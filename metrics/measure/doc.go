// Package measure holds the catalogue: measures as data, one YAML file each.
//
// A file says in words what a clinician reads and, beside it, the condition
// that the registry evaluates for every newborn. Conditions are SQL expressions
// in a small allow-listed subset over the documented facts; the lexer of this
// package refuses everything else with its place in the file, and the database
// types what is left. Every file carries worked examples: newborns given by
// facts, and what the measure must make of them, and why. They run through the
// production statement.
//
// Three-valued logic, decided once for all measures:
//
//   - population true: in; false: outside; null: eligibility unknown, counted.
//   - an exclusion applies where it is true; population is judged before it.
//   - met true: met. missed true: not met. Both false: undecided (the times as
//     recorded allow both answers). Anything else: unknown.
//   - an exception applies where the newborn is not met (for a value: as
//     written) and the condition is true.
package measure
