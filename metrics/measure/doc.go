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
//
// The keys of a file (those with * are needed):
//
//	id*          the file's name without .yaml
//	title*       what is measured, in a few words
//	question*    the question it answers, in plain words
//	family*      process, outcome, balancing, descriptive
//	tier*        core (a page of its own) or further; order: place within it
//	version*     grows when a person wants every month worked out anew
//	data*        proportion, value, rare-event
//	direction*   up, down or none: the good direction of the title's quantity
//	unit, unit_words            of a value: UCUM code and how it is spoken
//	population*                 words and condition
//	exclusions, exceptions      lists of reason, why, condition
//	met, missed, presumed       words and condition; without missed: "not met"
//	value                       words, low, high, end, open, signs, ends
//	missing*                    rule (known, not-met) and words
//	coverage                    needs (every-birth, ...) and words
//	strata                      facts to show as small tables
//	chart*                      kind (p, run, xmr, g), words; within, shares, rolling,
//	                            newborns or newborns_of, line
//	aim                         text, source, value (drawn as a line)
//	parameters                  name: value, unit, words, edition
//	limits                      words; section, title (where it is never marked)
//	citations, notes, cautions  what to print
//	beside                      measure and why: to be read on one page
//	examples*                   at least four: name, facts, expect, why; presumed,
//	                            value, low, high, end
//
// An example expects one of outside, eligibility unknown, excluded N, exception N,
// unknown, undecided, not met, met, event, no event, valued. Each exclusion and each
// exception needs an example, and so does an unknown answer.
package measure
