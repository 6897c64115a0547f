// Package paper describes what the shop hands over on paper (claim ticket, bag label, estimate, bulletins, invoice,
// warranty card), each once: a plain struct of text that is already formatted, and of the few numbers that a chart
// needs. [Set] lays one out; the same sheets are its PDF and the pictures that its page prints, and the same
// description is what its page reads out. The same paper always gives the same bytes.
//
// # What happens to long text
//
// Nothing is cut. A line that is too wide is set smaller, down to the least size of its place, and wraps if it is still
// too wide. Tables and notes flow on to further pages; a claim ticket is set a little smaller first, if that saves it a
// second page. A card or label whose place can't hold a text shows it whole on a further one. Only what repeats on each
// page is shortened.
//
// # Scripts
//
// The faces are the house's own (package typeface). Lines are ordered by the Unicode bidirectional algorithm and Arabic
// letters take their joined forms (package script). A character that no type at hand has is printed as
// [script.Replacement] and kept in the text layer; [Sheets.Lacking] lists such characters, so that a page can say so.
package paper
