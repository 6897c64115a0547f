package estimate

// Billed returns the revision that is charged for: the newest where that was agreed, which newestAgreed says, else
// the one in force. ok is false where there is none.
func (e Estimate) Billed(newestAgreed bool) (r Revision, ok bool) {
	if newestAgreed && len(e.Revisions) > 0 {
		return e.Revisions[len(e.Revisions)-1], true
	}
	return e.InForce()
}
