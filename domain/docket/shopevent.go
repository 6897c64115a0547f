package docket

import (
	"fmt"
	"slices"
)

// The kinds of event of the shop's own journal, which has what belongs to no docket.
const (
	RecordBegun        Kind = "record begun"
	RecordBroughtUp    Kind = "record brought up to date"
	ShopFounded        Kind = "shop founded"
	SettingsSaved      Kind = "settings saved"
	ProfileConfirmed   Kind = "profile of the place confirmed"
	StaffChanged       Kind = "people changed"
	LimitsPublished    Kind = "rate limits published"
	InsurerLimitsSaved Kind = "insurer's limits saved"
	CustomerKept       Kind = "customer kept"
	LoanWatchChanged   Kind = "loan watch changed"
	ParcelCame         Kind = "parcel came"
	CarrierChanged     Kind = "carrier changed"
	PriceListChanged   Kind = "price list changed"
	CatalogueChanged   Kind = "catalogue changed"
	StockMoved         Kind = "stock moved"
	Stocktaken         Kind = "stocktake"
	SupplierChanged    Kind = "supplier changed"
	HolidaysChanged    Kind = "holidays changed"
	TokenChanged       Kind = "access token changed"
	SeriesChanged      Kind = "invoice series changed"
	WatchCorrected     Kind = "watch corrected"
	WatchListChanged   Kind = "watch list changed"
	CalibreChanged     Kind = "calibre changed"
	RecorderChanged    Kind = "recorder changed"
	SigningKeyChosen   Kind = "signing key changed"

	TillMoved     Kind = "till moved"
	TillClosed    Kind = "till closed"
	AccountsNamed Kind = "accounts of the books named"
	OrderChanged  Kind = "order changed"
	OrderSent     Kind = "order sent"
	OrderMailed   Kind = "order mailed"

	MessageWordsSaved Kind = "words of messages saved"
	RemindersSaved    Kind = "reminders saved"
	SealMailed        Kind = "seal mailed"
	CustomersMerged   Kind = "customers merged"
	DataExported      Kind = "customer's data exported"
	DataErased        Kind = "customer's data erased"
)

// ShopKinds returns every kind of event of the shop's own journal.
func ShopKinds() []Kind {
	return []Kind{RecordBegun, RecordBroughtUp, ShopFounded, SettingsSaved, ProfileConfirmed, StaffChanged, LimitsPublished, InsurerLimitsSaved, CustomerKept,
		LoanWatchChanged, ParcelCame, CarrierChanged, PriceListChanged, CatalogueChanged, StockMoved, Stocktaken, SupplierChanged, TokenChanged, HolidaysChanged, SeriesChanged, WatchCorrected, WatchListChanged, CalibreChanged, RecorderChanged, SigningKeyChosen,
		TillMoved, TillClosed, AccountsNamed,
		OrderChanged, OrderSent, OrderMailed,
		MessageWordsSaved, RemindersSaved, SealMailed,
		CustomersMerged, DataExported, DataErased}
}

// OfShop reports whether k is an event of the shop's own journal.
func (k Kind) OfShop() bool { return slices.Contains(ShopKinds(), k) }

// What the shop's own journal says of a change.
const (
	RecordBegunSummary       = "The record check begins: from here on every entry declares the rows that it wrote."
	RecordBroughtUpSummary   = "A new release of the program changed rows of the record."
	SettingsSavedSummary     = "Settings saved."
	AccountsNamedSummary     = "The accounts of the books were named."
	MailSettingsSavedSummary = "Settings of mail saved."
	MailStoppedSummary       = "A customer wants no mail from now on."
	MailBegunAgainSummary    = "A customer may be written to by mail again."
	MailCameBackSummary      = "Mail to a customer came back, as somebody noted by hand."
	MailAddressGoodSummary   = "A customer's e-mail address is to be tried again."
	GradesGivenSummary       = "The program's own rate limits were added."
	SeedsLeftSummary         = "The private halves of signing keys were taken out of the database."
	CalibreCorrectedSummary  = "A calibre was corrected."
	CalibresImportedSummary  = "Calibres were read from a file."
	CustomerAddedSummary     = "A customer was added."
	CustomerCorrectedSummary = "A customer's particulars were corrected."
)

// SealMailedSummary says what became of the mail with the seal of a day.
func SealMailedSummary(day string, sent bool) string {
	if sent {
		return fmt.Sprintf("The seal of %s was mailed out of the shop.", day)
	}
	return fmt.Sprintf("The mail with the seal of %s was given up.", day)
}

// RemindersSavedSummary says that what is told by itself was changed.
const RemindersSavedSummary = "What customers are told when its day comes was changed."

// MessageWordsSummary says of which message in which language the words were changed; back is to the program's own.
func MessageWordsSummary(topic, language string, back bool) string {
	if back {
		return fmt.Sprintf("The message “%s” in %s has the program's own words again.", topic, language)
	}
	return fmt.Sprintf("The message “%s” in %s was put into the shop's own words.", topic, language)
}

// ShopFoundedSummary says who began the shop.
func ShopFoundedSummary(shop, owner string) string {
	return fmt.Sprintf("The shop %s was founded; %s is its first owner.", shop, owner)
}

// GradeAddedSummary says which grade of rate limits was added.
func GradeAddedSummary(grade string) string { return fmt.Sprintf("Rate limits %s added.", grade) }

// LimitsPublishedSummary says which version of which grade was published.
func LimitsPublishedSummary(grade string, version int) string {
	return fmt.Sprintf("Rate limits %s, version %d published.", grade, version)
}

// RecorderSummary says what happened to a recorder, in the words of its own history.
func RecorderSummary(name, words string) string { return fmt.Sprintf("Recorder %s: %s", name, words) }

// CalibreSummary says what happened to a calibre.
func CalibreSummary(name, what string) string { return fmt.Sprintf("Calibre %s: %s.", name, what) }

// SigningKeySummary says which key signs from now on.
func SigningKeySummary(id string) string {
	return fmt.Sprintf("Cards are signed with key %s from now on.", id)
}

// WatchListedSummary says which serial was put on the watch list.
func WatchListedSummary(serial string) string {
	return fmt.Sprintf("Serial %s was put on the watch list.", serial)
}

// WatchUnlistedSummary says which serial was taken off the watch list.
func WatchUnlistedSummary(serial string) string {
	return fmt.Sprintf("Serial %s was taken off the watch list.", serial)
}
