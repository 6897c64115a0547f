package parcels

import "ledgerwheel/web/view"

// postView is the sheet by which a watch goes by post.
type postView struct {
	Problems      map[string]string
	Failed        string // the form that was refused
	Prepare, Give view.Form
	Tell          view.TellView // that it is on its way
	Currency      string
	Carriers      []view.Option
	Cells, Ways   []view.Option
	OldParts      []view.Option
	Radium, Cell  bool   // noted as hazards on the docket
	Stays         string // why the watch can't leave yet
	Due           string // still to pay
	LabelURL      string

	Parcel          []view.TermView // nil until one is ready
	Given           bool
	May             bool
	MayOverride     bool
	NoCarrier       bool
	MayKeepCarriers bool
}

// order is that in which the page asks.
var order = []string{"carrier", "value", "to_name", "to_firm", "street", "postcode", "town", "region", "country", "contents", "cell", "radium_asked",
	"nothing_barred", "consent_by", "consent_how", "consent_on", "number", "proof", "old_parts", "reason", "tell", "tell_own"}

// reason says when the owner's word is asked for.
func (v postView) reason() view.Field {
	return v.Give.Field("reason", "The owner’s reason for sending it unpaid").WithWidth(view.Half)
}

// barred names what does not go by post, whatever the carrier.
const barred = "I looked: no loose lithium cell, and no oil, solvent, cleaning or other flammable fluid is in the box"
