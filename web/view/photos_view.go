package view

import "github.com/a-h/templ"

// CaptionedPhoto is a photograph whose caption can be changed.
type CaptionedPhoto struct {
	ID           string
	Photo        PhotoView
	CustomerSees bool
}

// RemovedPhoto is what is left to say of a photograph that was removed.
type RemovedPhoto struct{ What, When, By, Why string }

// PhotoForms are the forms that each photograph of a docket has.
type PhotoForms struct {
	Number     string
	Photos     []CaptionedPhoto
	MayCaption bool
	MayShow    bool // to the customer, and take out of sight
	MayRemove  bool
	Refused    Form // the form of a removal that was refused; it names its photograph under "photo"
}

// refused says that the removal of p was refused, and is to be shown again.
func (f PhotoForms) refused(p CaptionedPhoto) bool {
	return f.Refused.Problems["reason"] != "" && f.Refused.Values.Get("photo") == p.ID
}

// Any says that there is a form to show.
func (f PhotoForms) Any() bool { return f.MayCaption || f.MayShow || f.MayRemove }

// Summary is what the forms are for.
func (f PhotoForms) Summary() string {
	return When(f.MayCaption, "Captions, and what the customer sees") + When(!f.MayCaption, "What the customer sees")
}

// Open says that a form was refused.
func (f PhotoForms) Open() bool { return f.Refused.Problems["reason"] != "" }

func (f PhotoForms) reasonField(p CaptionedPhoto) Field {
	field := Field{Name: "reason", ID: "reason-" + p.ID, Label: "Why it is removed", Required: true, MaxLength: 500,
		Hint:  "The picture is deleted for good. Who removed it, when and why stays.",
		Attrs: templ.Attributes{"dir": "auto"}}
	if f.refused(p) {
		field.Value, field.Error = f.Refused.Values.Get("reason"), f.Refused.Problems["reason"]
	}
	return field
}

func (f PhotoForms) url(p CaptionedPhoto, then string) templ.SafeURL {
	return templ.URL(DocketURL(f.Number, "photos") + "/" + p.ID + then)
}

func (p CaptionedPhoto) otherSight() string { return When(!p.CustomerSees, "yes") }

func (p CaptionedPhoto) sightButton() ButtonView {
	b := ButtonView{Text: "Show to the customer", TestID: "show-photo-" + p.ID}
	if p.CustomerSees {
		b = ButtonView{Text: "Hide from the customer", TestID: "hide-photo-" + p.ID}
	}
	b.Attrs = templ.Attributes{"aria-label": b.Text + ": " + p.Photo.Alt}
	return b
}

// PhotoUpload is the form that takes photographs, many at once from a telephone.
type PhotoUpload struct {
	Number string
	About  string // condition, diagnosis or work
	Form   Form
}

func (u PhotoUpload) files() Field {
	f := u.Form.Field("photos", "Photographs").WithHint("JPEG, PNG, WebP or GIF; up to 24 at a time, 20 MB each. Where " +
		"and when they were taken is removed.")
	f.Accept, f.Multiple = "image/*", true
	return f
}

// seen asks whether the customer sees what is uploaded.
func (u PhotoUpload) seen() Field {
	return u.Form.Field("customer_sees", "The customer sees them").WithHint("on the page behind the private link; each can " +
		"be shown or hidden afterwards").WithWidth(Half)
}

func (p CaptionedPhoto) captionField() Field {
	return Field{Name: "caption", ID: "caption-" + p.ID, Label: "Caption of " + p.Photo.Alt, HideName: true,
		Value:     p.Photo.Caption,
		MaxLength: 200, Attrs: templ.Attributes{"dir": "auto"}}
}
