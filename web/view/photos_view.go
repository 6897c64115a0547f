package view

import "github.com/a-h/templ"

// CaptionedPhoto is a photograph whose caption can be changed.
type CaptionedPhoto struct {
	ID    string
	Photo PhotoView
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

func (p CaptionedPhoto) captionURL(number string) templ.SafeURL {
	return templ.URL(DocketURL(number, "photos") + "/" + p.ID)
}

func (p CaptionedPhoto) captionField() Field {
	return Field{Name: "caption", ID: "caption-" + p.ID, Label: "Caption of " + p.Photo.Alt, HideName: true,
		Value:     p.Photo.Caption,
		MaxLength: 200, Attrs: templ.Attributes{"dir": "auto"}}
}
