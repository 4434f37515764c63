// Package table makes text that came from outside safe for tables in CSV: a
// spreadsheet that opens one shows the text and calculates nothing.
package table

import "strings"

// formula are the characters that make a spreadsheet calculate when a cell
// begins with one of them, the plain ones and their full-width forms (Unicode
// block Halfwidth and Fullwidth Forms), and the apostrophe that Guard uses. The
// set follows the page on CSV injection of the Open Worldwide Application
// Security Project.
const formula = "=+-@|\t\r\n'＝＋－＠｜＇"

// Guard puts an apostrophe before text that begins like a formula. It is for
// text alone: a negative number begins like one too.
func Guard(text string) string {
	if begins(text) {
		return "'" + text
	}
	return text
}

// Unguard undoes Guard.
func Unguard(text string) string {
	if rest, ok := strings.CutPrefix(text, "'"); ok && begins(rest) {
		return rest
	}
	return text
}

func begins(text string) bool {
	for _, r := range text {
		return strings.ContainsRune(formula, r)
	}
	return false
}
