package measure

import "chestrise/metrics/yamlfile"

// Problem is something wrong at a place in a file of the catalogue.
type Problem = yamlfile.Problem

// Problems are all that is wrong, in the order of the files.
type Problems = yamlfile.Problems
