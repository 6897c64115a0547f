package store_test

import (
	"context"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// counterQuestions are what the pages of the counter ask.
func counterQuestions() []question {
	var all []question
	add := func(what string, ask func(context.Context, *oldShop) error) { all = append(all, question{what, ask}) }
	help := func(what string, q store.IntakeQuestion) {
		add("find: intake, "+what, func(ctx context.Context, o *oldShop) error { _, err := o.IntakeHelp(ctx, q); return err })
	}
	// Like "find:" in what they are allowed, as they too look at rows with one word for a second one.
	help("a customer's name", store.IntakeQuestion{Customer: customer.Customer{Name: "Ada Quill"}})
	help("a customer typed in full", store.IntakeQuestion{Customer: customer.Customer{Name: "Hana Reedham", Phone: "01632 000042", Email: "hana@example.org"}.Tidied("GB")})
	help("a lone name", store.IntakeQuestion{Customer: customer.Customer{Name: "Quill"}})
	help("a serial", store.IntakeQuestion{Watch: watch.Watch{Maker: "Gannet", Serial: "S0837832",
		MovementSerial: "M0000420"}})
	help("chosen", store.IntakeQuestion{CustomerID: 17, WatchID: 17})
	help("customers offered", store.IntakeQuestion{Offered: []int64{17, 42, 4711}})
	help("a watch and its owner", store.IntakeQuestion{WatchID: 17, OwnerToo: true})
	add("customers", func(ctx context.Context, o *oldShop) error {
		_, _, err := o.Customers(ctx, store.CustomerMark{})
		return err
	})
	add("customers, a later page", func(ctx context.Context, o *oldShop) error {
		_, _, err := o.Customers(ctx, store.CustomerMark{NameKey: "hana reed", ID: 40})
		return err
	})
	for _, typed := range []string{"quill", "ada", "ad", "hana reed", "0042", "01632 000042", "ada.quill"} {
		add("find: customers by "+typed, func(ctx context.Context, o *oldShop) error {
			_, _, err := o.FindCustomers(ctx, typed, "GB", store.CustomerPage)
			return err
		})
	}
	add("customer", func(ctx context.Context, o *oldShop) error { _, err := o.CustomerSheet(ctx, 17, 0); return err })
	add("watch", func(ctx context.Context, o *oldShop) error { _, err := o.WatchSheet(ctx, 17, 0); return err })
	add("intake sheet", func(ctx context.Context, o *oldShop) error {
		_, err := o.IntakeSheet(ctx, docket.Number{Year: 2002, Seq: 77})
		return err
	})
	add("photograph", func(ctx context.Context, o *oldShop) error { _, err := o.Photo(ctx, 77); return err })
	return all
}
