package watch

// With returns w, known from before, with what was typed of it this time. What was left empty, or said not to be
// known, stays as it was; so does the place of the crown while the form still says 3, its first choice.
func (w Watch) With(typed Watch) Watch {
	for _, f := range []struct {
		kept  *string
		typed string
	}{
		{&w.Maker, typed.Maker}, {&w.Model, typed.Model}, {&w.Reference, typed.Reference},
		{&w.Serial, typed.Serial}, {&w.MovementSerial, typed.MovementSerial}, {&w.CaseMaterial, typed.CaseMaterial},
		{&w.Strap, typed.Strap}, {&w.WaterResistanceMarked, typed.WaterResistanceMarked}, {&w.Notes, typed.Notes},
	} {
		if f.typed != "" {
			*f.kept = f.typed
		}
	}
	if typed.CalibreName != "" {
		w.CalibreName, w.CalibreID = typed.CalibreName, typed.CalibreID
	}
	if typed.Lume != LumeUnknown {
		w.Lume = typed.Lume
	}
	if typed.Winding != WindingUnknown {
		w.Winding = typed.Winding
	}
	if typed.CrownAt != 0 && typed.CrownAt != CrownAtThree {
		w.CrownAt = typed.CrownAt
	}
	return w.Tidied()
}

// SerialAgreement says how well the serials of two watches agree, whichever was engraved where: the best of all pairs.
func (w Watch) SerialAgreement(other Watch) SerialMatch {
	best := SerialDiffers
	for _, a := range []string{w.Serial, w.MovementSerial} {
		for _, b := range []string{other.Serial, other.MovementSerial} {
			best = max(best, MatchSerials(a, b))
		}
	}
	return best
}

// SerialLikeKeys are the keys under which watches with w's serials are found; empty when w has none.
func (w Watch) SerialLikeKeys() []string {
	keys := []string{}
	for _, serial := range []string{w.Serial, w.MovementSerial} {
		if key := SerialLikeKey(serial); key != "" {
			keys = append(keys, key)
		}
	}
	return keys
}
