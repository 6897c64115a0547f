package demoshop

import (
	"testing"

	"ledgerwheel/domain/watch"
)

// TestCalibresAgreeWithThemselves: nothing in the demo's calibres contradicts itself or is out of the usual range,
// nothing stops them being saved, and what the bench tools and the advice take of them is known.
func TestCalibresAgreeWithThemselves(t *testing.T) {
	t.Parallel()
	for _, k := range calibres {
		for field, why := range k.Problems() {
			t.Errorf("%s: %s: %s", k.Name, field, why)
		}
		for _, r := range k.Remarks() {
			t.Errorf("%s: %s: %s", k.Name, r.Field, r.Text)
		}
		if again, bad := k.Form().Check(); len(bad) > 0 || len(watch.CalibreDifferences(k, again)) > 0 {
			t.Errorf("%s is not kept as it stands: %v", k.Name, watch.CalibreDifferences(k, again))
		}
		hours, err := k.PossibleReserveHours()
		if err != nil || hours < k.PowerReserveHours || hours > 1.3*k.PowerReserveHours {
			t.Errorf("%s: its barrel gives %.1f h for the %v h stated, %v", k.Name, hours, k.PowerReserveHours, err)
		}
		if k.Balance.InertiaMgCm2 == 0 || k.Balance.DiameterMm == 0 || k.Balance.ImpulseJewelHour == 0 ||
			len(k.Lubrication) < 5 {
			t.Errorf("%s: the advice or the bench lacks something: %+v", k.Name, k)
		}
	}
}
