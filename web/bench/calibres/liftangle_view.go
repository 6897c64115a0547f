package calibres

import "ledgerwheel/web/view"

// liftView is the fold that determines a lift angle.
type liftView struct {
	CalibreID int64
	Now       string // what is known at present
	Open      bool
	Ways      []liftWayView
}

// liftWayView is one way with its fields, and what came of them.
type liftWayView struct {
	Way, Name, Hint string
	Fields          []view.Field
	Result          *liftResultView
}

// liftResultView is a lift angle worked out; Kept are the hidden fields by which it is kept.
type liftResultView struct {
	Angle, Against, Amplitudes string
	Kept                       [][2]string
}

func (v liftView) action() string { return calibreURL(v.CalibreID) + "/lift-angle" }

// order is that of the fields on a calibre's page.
func (v calibreRecordView) order() []string {
	order := []string{"way"}
	for _, w := range v.Lift.Ways {
		for _, f := range w.Fields {
			order = append(order, f.Name)
		}
	}
	return append(order, "photos", "caption")
}
