package docket

import "slices"

// Kind is what sort of thing a journal entry records. The value is kept in the database and hashed, so
// none is ever renamed.
type Kind string

// The kinds of event.
const (
	Received           Kind = "received"
	VisitJoined        Kind = "taken in together"
	LoanOut            Kind = "loan watch handed out"
	LoanBack           Kind = "loan watch back"
	LoanKeptOut        Kind = "loan watch stays out"
	ParcelOpened       Kind = "parcel opened"
	ParcelReady        Kind = "parcel ready"
	ParcelWithdrawn    Kind = "parcel withdrawn"
	ParcelGiven        Kind = "parcel given to carrier"
	IntakeCorrected    Kind = "intake corrected"
	ConditionNoted     Kind = "condition noted"
	PhotoAdded         Kind = "photograph added"
	PhotoHidden        Kind = "photograph hidden"
	PhotoShown         Kind = "photograph shown"
	PhotoRemoved       Kind = "photograph removed"
	NoteAdded          Kind = "note added"
	WatchListMatched   Kind = "watch list matched"
	LimitPassed        Kind = "above an insurer's limit"
	PaperPrinted       Kind = "paper printed"
	PlaceChanged       Kind = "place changed"
	Moved              Kind = "moved"
	Promised           Kind = "promised"
	LinkMade           Kind = "customer's link made"
	LinkRevoked        Kind = "customer's link revoked"
	FindingAdded       Kind = "finding added"
	FindingChanged     Kind = "finding changed"
	FindingRemoved     Kind = "finding removed"
	HazardFound        Kind = "hazard found"
	HazardAcknowledged Kind = "hazard acknowledged"
	EstimateDrafted    Kind = "estimate drafted"
	EstimateWasSent    Kind = "estimate sent"
	EstimateAccepted   Kind = "estimate approved"
	EstimateRefused    Kind = "estimate declined"
	PartNeeded         Kind = "part needed"
	PartOrdered        Kind = "part ordered"
	PartArrived        Kind = "part arrived"
	PartFitted         Kind = "part fitted"
	PartPayer          Kind = "part's payer said"
	PartReturned       Kind = "old part returned"
	StockHeld          Kind = "stock held back"
	PartCancelled      Kind = "part cancelled"
	PartNews           Kind = "news of a part"
	BenchKept          Kind = "bench figures kept"
	ServiceStepDone    Kind = "service step done"
	ServiceChanged     Kind = "service record changed"
	RunRecorded        Kind = "run recorded"
	ReadingChanged     Kind = "reading changed"
	RunJudged          Kind = "run judged"
	ReadingHeard       Kind = "reading heard"
	PoisingRead        Kind = "poising round read"
	PoisingCorrected   Kind = "poising round corrected"
	PoisingStruck      Kind = "poising round struck out"
	FinalTested        Kind = "final test recorded"
	TrialBegun         Kind = "trial begun"
	TrialDayRead       Kind = "trial day read"
	TrialDayCorrected  Kind = "trial day corrected"
	TrialEnded         Kind = "trial ended"
	OwnerAllowed       Kind = "owner's reason written"
	Charged            Kind = "charged"
	InvoiceIssued      Kind = "invoice issued"
	DepositInvoiced    Kind = "deposit invoice issued"
	CreditIssued       Kind = "credit note issued"
	Paid               Kind = "paid"
	Refunded           Kind = "refunded"
	OldPartsDecided    Kind = "old parts decided"
	CollectorChecked   Kind = "collector checked"
	HandedOver         Kind = "handed over"
	HandedBack         Kind = "handed back"
	CardIssued         Kind = "card issued"
	CardReissued       Kind = "card reissued"
	CardVoided         Kind = "card voided"
	ComebackOpened     Kind = "comeback opened"
	ComebackSaid       Kind = "cause of a comeback said"
	MessageWritten     Kind = "message written"
	MessageSent        Kind = "message sent"
	MessageRefused     Kind = "message refused"
	MessageWithdrawn   Kind = "message withdrawn"
	CustomerTold       Kind = "customer told"
	CallWritten        Kind = "call written down"
	CustomerMerged     Kind = "customer merged"
	CustomerErased     Kind = "customer erased"
	NoticeWritten      Kind = "notice written"
	NoticePosted       Kind = "notice posted"
	CollectBlocked     Kind = "collecting blocked"
	CollectUnblocked   Kind = "collecting unblocked"
	CustomerAsked      Kind = "customer asked"
	QuestionAnswered   Kind = "customer's question answered"
)

// Kinds returns every kind of event.
func Kinds() []Kind {
	return []Kind{Received, VisitJoined, LoanOut, LoanBack, LoanKeptOut, ParcelOpened, ParcelReady, ParcelWithdrawn, ParcelGiven, IntakeCorrected, ConditionNoted, PhotoAdded, PhotoHidden, PhotoShown, PhotoRemoved, NoteAdded,
		WatchListMatched, LimitPassed, PaperPrinted, PlaceChanged, Moved, Promised, LinkMade, LinkRevoked,
		FindingAdded, FindingChanged, FindingRemoved, HazardFound, HazardAcknowledged,
		EstimateDrafted, EstimateWasSent, EstimateAccepted, EstimateRefused,
		PartNeeded, PartOrdered, PartArrived, PartFitted, PartPayer, PartReturned, PartCancelled, PartNews, StockHeld, BenchKept,
		ServiceStepDone, ServiceChanged, RunRecorded, ReadingChanged, RunJudged, ReadingHeard, PoisingRead, PoisingCorrected,
		PoisingStruck, FinalTested,
		TrialBegun, TrialDayRead, TrialDayCorrected, TrialEnded,
		OwnerAllowed, Charged, InvoiceIssued, DepositInvoiced, CreditIssued, Paid, Refunded, OldPartsDecided, CollectorChecked,
		HandedOver, HandedBack, CardIssued, CardReissued, CardVoided, ComebackOpened, ComebackSaid,
		MessageWritten, MessageSent, MessageRefused, MessageWithdrawn, CustomerTold, CallWritten,
		CustomerMerged, CustomerErased, NoticeWritten, NoticePosted, CollectBlocked, CollectUnblocked, CustomerAsked, QuestionAnswered}
}

// Passive reports whether k tells of what the program did by itself, or a customer asked or a supplier said, and nobody edits: a form opened before it is saved
// after it all the same.
func (k Kind) Passive() bool {
	return k == MessageSent || k == MessageRefused || k == CustomerAsked || k == PartNews
}

// PassiveKinds are the kinds that are Passive.
func PassiveKinds() []Kind {
	return slices.DeleteFunc(Kinds(), func(k Kind) bool { return !k.Passive() })
}

// Known reports whether k is a kind of event.
func (k Kind) Known() bool { return slices.Contains(Kinds(), k) || k.OfShop() }
