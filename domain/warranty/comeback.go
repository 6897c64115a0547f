package warranty

import (
	"time"

	"ledgerwheel/domain/docket"
)

// MayComeBack reports whether a docket in the given stage, whose watch was handed over on a civil day, is one
// under whose warranty of so many months the watch may come back today. Days are at midnight UTC; a zero day is
// that of a watch still in the shop. A watch that went back unrepaired has no warranty.
func MayComeBack(stage docket.Stage, handedOverOn time.Time, months int, today time.Time) bool {
	return stage == docket.StageHandedOver && !handedOverOn.IsZero() && months > 0 &&
		!today.Before(handedOverOn) && !today.After(Expires(handedOverOn, months))
}
