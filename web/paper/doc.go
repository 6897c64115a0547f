// Package paper sets what the shop hands over on paper: claim ticket, bag label,
// estimate, bulletin, invoice and warranty card, each as a PDF of true size, and
// the bar codes of the pages that print from a browser.
//
// A paper is a plain struct of text that is already formatted, and of the few
// numbers that a chart needs. Its PDF method takes the creation date from the
// caller, so that the same paper always gives the same bytes.
//
// # What happens to long text
//
// One rule holds everywhere. A line that is too wide is set smaller, down to the
// least size of its place; if it is still too wide it is cut and ends in an
// ellipsis. A block wraps, is set smaller until it fits its box, and is cut the
// same way when even the least size does not hold it. On A4 nothing is cut:
// tables and notes flow on to further pages.
//
// # Scripts
//
// The type is DejaVu: Latin, Greek and Cyrillic in serif and sans, Hebrew and
// Arabic in sans. Lines are ordered by the Unicode bidirectional algorithm and
// Arabic letters take their joined forms. A character that the type lacks is
// printed as [replacement] and kept in the text layer; [Missing] lists such
// characters, so that a page can offer printing from the browser instead.
package paper
