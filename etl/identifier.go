package etl

import "regexp"

// identifiers are the shapes of what must not be in a delivery: direct
// identifiers and elements of dates finer than the month column. The list
// follows the shapes that can be told from a string among those of 45 CFR
// 164.514(b)(2): telephone and fax numbers, e-mail and web addresses, IP
// addresses, social security and record numbers, dates; names cannot be told
// and are kept out because there is no free text.
var identifiers = []*regexp.Regexp{
	regexp.MustCompile(`\d{7,}`),
	regexp.MustCompile(`\d[\d ()./+-]*(?:\d[ ()./+-]*){5,}\d`),        // telephone, social security, record numbers written in groups
	regexp.MustCompile(`\b\d{4}[-/.]\d{1,2}[-/.]\d{1,2}\b`),           // year first
	regexp.MustCompile(`\b\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})\b`), // year last
	regexp.MustCompile(`(?i)\b\d{1,2}[. -]*(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[. -]*\d{2,4}\b`),
	regexp.MustCompile(`(?i)\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[. -]*\d{1,2}\b`),
	regexp.MustCompile(`\b\d{1,2}:\d{2}\b`),             // time of day
	regexp.MustCompile(`(?i)\b\d{1,2} ?[ap]\.?m\b`),     // time of day
	regexp.MustCompile(`\b(?:19|20)\d{2}[-/]\d{1,2}\b`), // a month
	regexp.MustCompile(`@`),                             // e-mail
	regexp.MustCompile(`(?i)://|\bwww\.`),               // web address
	regexp.MustCompile(`\b\d{1,3}(?:\.\d{1,3}){3}\b`),   // internet address, version 4
	regexp.MustCompile(`(?i)\b[0-9a-f]{1,4}(?::[0-9a-f]{0,4}){2,}`),
}

// number has at most six digits before the point; what follows the point is
// precision, not an identifier.
var number = regexp.MustCompile(`^-?\d{1,6}(?:\.\d+)?$`)

// looksLikeIdentifier says whether a cell has the shape of an identifier or a
// date. It is asked only about cells that are not a value of their column.
func looksLikeIdentifier(cell []byte) bool {
	if number.Match(cell) {
		return false
	}
	for _, shape := range identifiers {
		if shape.Match(cell) {
			return true
		}
	}
	return false
}
