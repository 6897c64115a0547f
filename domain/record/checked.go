package record

import "fmt"

// Checked is how much a record check looked at.
type Checked struct {
	Dockets  int64 `json:"dockets"`
	Entries  int64 `json:"entries"`
	Rows     int64 `json:"rows"`
	LogSize  int64 `json:"entries_in_the_log"`
	Waiting  int64 `json:"entries_waiting_for_the_log"`
	Seals    int64 `json:"seals"`
	Pictures int64 `json:"photographs"`
	Sounds   int64 `json:"sounds"`
	Foreign  int64 `json:"entries_marked_by_an_unknown_secret"`
	Findings int64 `json:"findings"`
}

// Held is what a record was held against besides itself.
type Held struct{ Files, Secrets, Seals bool }

// Words say, a line each, what a record check looked at and what it could not.
func (c Checked) Words(with Held) []string {
	whole := "Nothing differs in what was looked at"
	switch everything := with.Files && with.Secrets && with.Seals && c.Foreign == 0; {
	case everything && c.Findings == 0:
		whole = "The record is whole"
	case c.Findings > 0:
		whole = fmt.Sprintf("%s found", counted(c.Findings, "difference", "differences"))
	}
	lines := []string{fmt.Sprintf("%s: %s with %s and %s of evidence, a log of %s and %s were looked at.", whole,
		counted(c.Dockets, "docket", "dockets"), counted(c.Entries, "entry", "entries"), counted(c.Rows, "row", "rows"),
		counted(c.LogSize+c.Waiting, "entry", "entries"), counted(c.Seals, "seal", "seals"))}
	if !with.Files {
		lines = append(lines, "Photographs and sounds were not looked at: their folder is not at hand.")
	} else {
		kept := " and are those that were kept"
		if c.Findings > 0 { // some of the findings may be of them
			kept = ""
		}
		lines = append(lines, fmt.Sprintf("%s and %s were read%s.", counted(c.Pictures, "photograph", "photographs"),
			counted(c.Sounds, "sound", "sounds"), kept))
	}
	switch {
	case !with.Secrets:
		lines = append(lines, "Whether the program itself wrote the entries was not looked at: the secret of the journal is not at hand.")
	case c.Foreign > 0:
		lines = append(lines, fmt.Sprintf("%s marked with a secret that is not at hand: who wrote them can't be told.",
			counted(c.Foreign, "entry is", "entries are")))
	}
	if !with.Seals {
		lines = append(lines, "No seal from outside the database was at hand: whoever changed everything in it, consistently, would not be found.")
	}
	if c.Waiting > 0 {
		lines = append(lines, fmt.Sprintf("%s for the log, which takes them in within seconds while the program runs.",
			counted(c.Waiting, "entry waits", "entries wait")))
	}
	return lines
}

func counted(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
