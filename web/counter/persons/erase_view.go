package persons

import "ledgerwheel/web/view"

// eraseView says what an erasure does, and asks why.
type eraseView struct {
	Form                                  view.Form
	Name, Pseudonym, Action, Back, Export string
	Against                               []string         // why nothing can be erased yet
	AskSettings                           bool             // how long invoices are kept was not said
	KeptUntil                             string           // day up to which invoices keep name and address; "" where they go at once
	Photos                                []view.PhotoView // Note is the photograph's number
	ParcelPhotos                          int              // of the parcels in which their watches came, which go in any case
}

func (v eraseView) parcelWords() string {
	if v.ParcelPhotos == 1 {
		return "1 photograph of the parcel in which a watch came is deleted: labels show name and street. Its sum stays as evidence."
	}
	return view.Itoa(v.ParcelPhotos) + " photographs of the parcels in which watches came are deleted: labels show name and street. Their sums stay as evidence."
}

func (v eraseView) stays() []string {
	list := []string{
		"What was handed in, found, agreed, fitted, measured, paid and handed out stays under " + v.Pseudonym + ": claims may hang on it (in the EU: GDPR, article 17(3)(e)).",
		"Entries of the journals that name the person stay sealed, as a word taken out would break the chain that proves the record. Pages, papers and exports show them with " + v.Pseudonym + " instead.",
		"Backups from before hold everything until they fall out of the number that is kept. Where one is restored, the program erases the data again.",
	}
	if v.KeptUntil != "" {
		list = append(list, "Name and address stay on invoices until "+v.KeptUntil+", as the settings say of your law (GDPR, article 17(3)(b)). The program deletes them the day after.")
	}
	return list
}
