package diagnosis

import "ledgerwheel/domain/merge"

// FindingMerge is a finding as two people corrected it at once, put together field by field.
type FindingMerge struct {
	Merged  Finding  // of a field that clashes, as the second person typed it
	Clashes []string // form fields that both changed, differently
}

// MergeFindings puts together a finding as it stands (theirs) and as the second person corrects it (mine), who had
// seen base. All three are of one component. What is wrong and how much it matters are one thing: a severity never goes
// with another's fault unasked.
func MergeFindings(base, theirs, mine Finding) FindingMerge {
	m := FindingMerge{Merged: theirs}
	type judged struct {
		fault    string
		severity Severity
	}
	is, how := merge.Field(judged{base.Fault, base.Severity}, judged{theirs.Fault, theirs.Severity},
		judged{mine.Fault, mine.Severity})
	m.Merged.Fault, m.Merged.Severity = is.fault, is.severity
	if how == merge.Clash && mine.Fault != theirs.Fault {
		m.Clashes = append(m.Clashes, "fault")
	}
	if how == merge.Clash && mine.Severity != theirs.Severity {
		m.Clashes = append(m.Clashes, "severity")
	}
	field(&m, "note", &m.Merged.Note, base.Note, mine.Note)
	field(&m, "photo", &m.Merged.PhotoID, base.PhotoID, mine.PhotoID)
	return m
}

// field merges one field of a finding; at holds theirs.
func field[T comparable](m *FindingMerge, name string, at *T, base, mine T) {
	merged, how := merge.Field(base, *at, mine)
	*at = merged
	if how == merge.Clash {
		m.Clashes = append(m.Clashes, name)
	}
}
