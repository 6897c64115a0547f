package stock

import "ledgerwheel/domain/merge"

// LineMerge is a part as two people corrected it at once, put together field by field.
type LineMerge struct {
	Merged  PartLine // of a field that clashes, as the second person typed it
	Clashes []string // form fields that both changed, differently
}

// MergeLines puts together a part as it stands (theirs) and as the second person corrects it (mine), who had seen
// base. Where it stands is no correction: that is theirs. Description and reference are one thing: a number never goes
// with another part unasked.
func MergeLines(base, theirs, mine PartLine) LineMerge {
	m := LineMerge{Merged: theirs}
	type which struct{ description, reference string }
	is, how := merge.Field(which{base.Description, base.Reference}, which{theirs.Description, theirs.Reference},
		which{mine.Description, mine.Reference})
	m.Merged.Description, m.Merged.Reference = is.description, is.reference
	if how == merge.Clash && mine.Description != theirs.Description {
		m.Clashes = append(m.Clashes, "description")
	}
	if how == merge.Clash && mine.Reference != theirs.Reference {
		m.Clashes = append(m.Clashes, "reference")
	}
	field(&m, "quantity", &m.Merged.Quantity, base.Quantity, mine.Quantity)
	field(&m, "supplier", &m.Merged.Supplier, base.Supplier, mine.Supplier)
	field(&m, "old_part", &m.Merged.OldPart, base.OldPart, mine.OldPart)
	field(&m, "note", &m.Merged.Note, base.Note, mine.Note)
	return m
}

// field merges one field of a part; at holds theirs.
func field[T comparable](m *LineMerge, name string, at *T, base, mine T) {
	merged, how := merge.Field(base, *at, mine)
	*at = merged
	if how == merge.Clash {
		m.Clashes = append(m.Clashes, name)
	}
}

// FieldWords says in words what p has in a form field, "" for nothing.
func (p PartLine) FieldWords(name string) string {
	if name == "old_part" {
		return p.OldPart.Words()
	}
	f := p.Form()
	return map[string]string{"description": f.Description, "reference": f.Reference, "quantity": f.Quantity,
		"supplier": f.Supplier, "note": f.Note}[name]
}
