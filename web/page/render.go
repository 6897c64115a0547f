package page

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/a-h/templ"

	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// SendPDF shows a paper in the browser, under a name fit for keeping.
func SendPDF(w http.ResponseWriter, name string, pdf []byte) error {
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+name+`.pdf"`)
	h.Set("Content-Length", fmt.Sprint(len(pdf)))
	_, _ = w.Write(pdf) // a reader that went away is no fault of ours
	return nil
}

// ShowPaper shows a paper to read and to print, with what a printer should know of it above.
func ShowPaper(w http.ResponseWriter, r *http.Request, p view.PrintView, doc paper.Paper) error {
	sheets, err := paper.Set(doc)
	if err != nil {
		return err
	}
	p.Notices = append(p.Notices, PaperNotices(sheets)...)
	return Render(w, r, http.StatusOK, view.PrintPage(p, sheets.Page()))
}

// Part is one of several papers that are printed in one go. Name is a word for addresses, Heading says which it is, and
// PDF is where it is sent alone.
type Part struct {
	Name, Heading, PDF string
	Paper              paper.Paper
}

// ShowPapers shows several papers on one page, to be printed together or each by its own printer.
func ShowPapers(w http.ResponseWriter, r *http.Request, p view.PrintView, parts ...Part) error {
	for _, part := range parts {
		sheets, err := paper.Set(part.Paper)
		if err != nil {
			return err
		}
		p.Notices = append(p.Notices, PaperNotices(sheets)...)
		p.Parts = append(p.Parts, view.PrintPart{Name: part.Name, Heading: part.Heading, PDF: part.PDF, Paper: sheets.Page()})
	}
	return Render(w, r, http.StatusOK, view.PrintPage(p, nil))
}

// SendPaper sends a paper as a PDF made at a moment, under a name fit for keeping.
func (s *Host) SendPaper(w http.ResponseWriter, r *http.Request, name string, doc paper.Paper, at time.Time) error {
	pdf, err := paper.PDF(doc, at, s.LogoOf(r.Context()))
	if err != nil {
		return err
	}
	return SendPDF(w, name, pdf)
}

// LogoOf gives papers the pictures of logos by their names.
func (s *Host) LogoOf(ctx context.Context) func(name string) []byte {
	return func(name string) []byte { return s.logo(ctx, logo.Name(name)) }
}

// logo is the picture of a logo; nil where it can't be had, so that a paper is never kept back by it.
func (s *Host) logo(ctx context.Context, name logo.Name) []byte {
	png, err := s.Viewers.Logo(ctx, name)
	if err != nil {
		s.Log.Error("a logo is not printed", "error", err)
		return nil
	}
	return png
}

// BillerOf is the shop as papers name it on which money stands, with its tax numbers.
func BillerOf(v Voice) paper.Issuer {
	issuer := IssuerOf(v.Shop)
	issuer.TaxNumber = v.TaxNumbers(v.Shop.TaxName, v.Shop.TaxNumber, v.Shop.OtherTaxNumber)
	return issuer
}

// IssuerOf is the shop as its papers name it.
func IssuerOf(sh shop.Shop) paper.Issuer {
	return paper.Issuer{Name: sh.Name, Address: NonEmptyLines(sh.Address), Contact: NonEmptyLines(sh.Phone + "\n" +
		sh.Email), Logo: sh.Logo}
}

// Render writes a page whole or not at all: a view that fails halfway leaves no half page.
func Render(w http.ResponseWriter, r *http.Request, status int, page templ.Component) error {
	var buf bytes.Buffer
	if err := page.Render(r.Context(), &buf); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	body, err := fillKept(r, stampForms(r, buf.Bytes()))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	keepPlain(w.Header(), body)
	w.WriteHeader(status)
	if _, err := w.Write(body); err != nil {
		return nil // the reader went away; nothing is left to say to them
	}
	return nil
}

func SeeOther(w http.ResponseWriter, r *http.Request, target string) error {
	http.Redirect(w, r, target, http.StatusSeeOther)
	return nil
}
