package e2e

import (
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestMorning follows the owner of the demo shop from what needs them to the list, and from there to a docket, and back to what was done
// on the docket that a comeback returns from.
func TestMorning(t *testing.T) {
	t.Parallel()
	owner := signedIn(t, site(t), staff.Owner)
	owner.accessible("/owner")
	late := owner.text(byTest("value-late"))
	if late == "none" {
		t.Fatal("nothing is late in the demo shop")
	}
	owner.within("owner-asks").sees("late, the longest by")
	owner.follow(byTest("owner-asks") + ` a[href="/?show=late"]`)
	owner.sees("days late")
	owner.open("/owner")
	number := strings.Fields(owner.text(byTest("morning-late") + " li a"))[0] // the latest of them
	owner.follow(byTest("morning-late") + " li a")
	owner.sees(number, "late")

	owner.open("/owner")
	owner.follow(byTest("morning-comebacks") + " dt a")
	owner.accessible("/comebacks?show=all")
	owner.within("comebacks").sees("our own work", "an accident", "nothing found", "not covered")
	owner.follow(byTest("comeback-row") + " a")
	owner.within("before").sees("Final")
	owner.accessible("/owed")
}
