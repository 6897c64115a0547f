package staff

import "slices"

// Permission names one thing that a role may or may not do. Every route and every move of a docket
// asks for exactly one.
type Permission string

// The permissions. Each one's plain words and holders stand in the table below.
const (
	ViewDockets     Permission = "view-dockets"
	ViewJournal     Permission = "view-journal"
	PrintPapers     Permission = "print-papers"
	AddPhotos       Permission = "add-photos"
	AddNotes        Permission = "add-notes"
	TellCustomers   Permission = "tell-customers"
	MoveWatch       Permission = "move-watch"
	PassToBench     Permission = "pass-to-bench"
	UseBenchTools   Permission = "use-bench-tools"
	ManageOwn       Permission = "manage-own-account"
	ManageCustomers Permission = "manage-customers"
	ManageWatches   Permission = "manage-watches"
	MergeCustomers  Permission = "merge-customers"
	ExportCustomers Permission = "export-customers"
	EraseCustomers  Permission = "erase-customers"
	TakeIn          Permission = "take-in"
	SeeWatchList    Permission = "see-watch-list"
	Diagnose        Permission = "diagnose"
	DecideCover     Permission = "decide-cover"
	PriceEstimate   Permission = "price-estimate"
	SendEstimate    Permission = "send-estimate"
	RecordApproval  Permission = "record-approval"
	NeedParts       Permission = "need-parts"
	OrderParts      Permission = "order-parts"
	DoService       Permission = "do-service"
	TakeReadings    Permission = "take-readings"
	DoFinalTest     Permission = "do-final-test"
	Withdraw        Permission = "withdraw"
	TakePayment     Permission = "take-payment"
	HandOver        Permission = "hand-over"
	CloseTill       Permission = "close-till"
	MoveTill        Permission = "move-till"
	IssueInvoices   Permission = "issue-invoices"
	CreditInvoices  Permission = "credit-invoices"
	PrintCard       Permission = "print-card"
	ManageStock     Permission = "manage-stock"
	ManageCalibres  Permission = "manage-calibres"
	ManageRecorders Permission = "manage-recorders"
	IssueCard       Permission = "issue-card"
	IssueByOrder    Permission = "issue-card-by-order"
	WriteNotices    Permission = "write-notices"
	WriteFormal     Permission = "write-formal-notices"
	VoidCard        Permission = "void-card"
	RemovePhotos    Permission = "remove-photos"
	ChargeMore      Permission = "charge-more"
	CoverOtherwise  Permission = "cover-otherwise"
	Override        Permission = "override"
	ManageWatchList Permission = "manage-watch-list"
	ManagePrices    Permission = "manage-prices"
	ManageLimits    Permission = "manage-rate-limits"
	ManageStaff     Permission = "manage-staff"
	ManageSettings  Permission = "manage-settings"
	ManageKeys      Permission = "manage-keys"
	ManageTokens    Permission = "manage-tokens"
	TakeAway        Permission = "take-away"
	CheckRecord     Permission = "check-record"
	ViewFigures     Permission = "view-figures"
	SeeBooks        Permission = "see-books"
	SeeAccess       Permission = "see-access"
)

// Rule is one row of the table of what each role may do.
type Rule struct {
	Permission Permission
	Words      string // completes "may ..."
	Holders    []Role
}

var (
	everyone = []Role{Owner, Watchmaker, Clerk}
	bench    = []Role{Owner, Watchmaker}
	counter  = []Role{Owner, Clerk}
	owner    = []Role{Owner}
)

// rules is the one table of what each role may do. The owner may do everything. Who prices an
// estimate at the bench does not also record that the customer agreed to it: that is the counter's.
var rules = []Rule{
	{ViewDockets, "see dockets, customers and watches", everyone},
	{ViewJournal, "read a docket's journal", everyone},
	{PrintPapers, "print tickets, labels, estimates and bulletins", everyone},
	{AddPhotos, "add photographs to a docket", everyone},
	{AddNotes, "add notes and calls to a docket", everyone},
	{TellCustomers, "tell customers, and write down what they were told", everyone},
	{MoveWatch, "record where a watch physically is", everyone},
	{PassToBench, "pass a watch on to the bench", everyone},
	{UseBenchTools, "use the bench tools", everyone},
	{ManageOwn, "change their own name, password and second factor, and end their sessions", everyone},
	{ManageWatches, "add watches and correct their particulars", everyone},
	{SendEstimate, "send an estimate to the customer", everyone},
	{OrderParts, "order parts and book them in", everyone},

	{Diagnose, "record findings, hazards and as-received runs", bench},
	{DecideCover, "say why a watch came back, and whether the warranty covers it", bench},
	{PriceEstimate, "price an estimate", bench},
	{NeedParts, "say which parts a docket needs, fit and return them", bench},
	{DoService, "record service work", bench},
	{TakeReadings, "take readings and regulate", bench},
	{DoFinalTest, "record the final test", bench},
	{ManageStock, "change the stock list", bench},
	{ManageCalibres, "change the list of calibres", bench},
	{ManageRecorders, "add recorders and calibrate their clocks", bench},

	{ManageCustomers, "add customers and correct their particulars", counter},
	{MergeCustomers, "merge two records of one customer", counter},
	{TakeIn, "take in a watch", counter},
	{SeeWatchList, "be warned by the watch list", counter},
	{RecordApproval, "record a customer's answer at the counter", counter},
	{Withdraw, "record that a customer withdraws a watch", counter},
	{TakePayment, "take payment", counter},
	{HandOver, "hand a watch over to the customer", counter},
	{CloseTill, "count the till and close its day", counter},
	{MoveTill, "put cash into the till and take it out", counter},
	{IssueInvoices, "issue invoices and deposit invoices", counter},
	{PrintCard, "print a warranty card that was issued", counter},
	{IssueByOrder, "issue a warranty card while the owner's standing order lets them", counter},

	{WriteNotices, "remind a customer of a watch by letter, keep the proof of posting, and note what stands against it", counter},

	{WriteFormal, "write a formal notice to a customer who does not collect a watch", owner},
	{IssueCard, "issue and reissue warranty cards", owner},
	{CreditInvoices, "issue credit notes", owner},
	{VoidCard, "void a warranty card", owner},
	{ChargeMore, "charge more than the customer agreed to, without the customer's word", owner},
	{CoverOtherwise, "decide on the warranty against what brought a watch back, or once it has left", owner},
	{RemovePhotos, "remove a photograph, with a written reason", owner},
	{Override, "let a watch go on with a written reason", owner},
	{ExportCustomers, "take a copy of everything about a customer", owner},
	{EraseCustomers, "erase a customer's data on request", owner},
	{ManageWatchList, "change the watch list", owner},
	{ManagePrices, "change the price list", owner},
	{ManageLimits, "publish rate limits", owner},
	{ManageStaff, "invite, disable and reset staff", owner},
	{ManageSettings, "change the shop's settings", owner},
	{ManageKeys, "change the signing keys", owner},
	{TakeAway, "take the whole record away as open files", owner},
	{ManageTokens, "give other programs a way in, and end it", owner},
	{CheckRecord, "check the record and read the shop's own journal", owner},
	{ViewFigures, "see and export the shop's figures", owner},
	{SeeBooks, "see the books, export them and name their accounts", owner},
	{SeeAccess, "see who signed in, and who was refused", owner},
}

// Rules returns a copy of the table, for the page that shows it and the test that walks it.
func Rules() []Rule {
	out := slices.Clone(rules)
	for i := range out {
		out[i].Holders = slices.Clone(out[i].Holders)
	}
	return out
}

// Can reports whether role may do perm. An unknown role or permission may do nothing.
func Can(role Role, perm Permission) bool {
	for _, r := range rules {
		if r.Permission == perm {
			return slices.Contains(r.Holders, role)
		}
	}
	return false
}

// Words is the permission in plain words, completing "may ...".
func (p Permission) Words() string {
	for _, r := range rules {
		if r.Permission == p {
			return r.Words
		}
	}
	return "do something unknown"
}

// Holders returns the roles that hold p, in the order of [Roles].
func (p Permission) Holders() []Role {
	for _, r := range rules {
		if r.Permission == p {
			return slices.Clone(r.Holders)
		}
	}
	return nil
}
