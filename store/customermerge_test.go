package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// TestMergeCustomers: two records of one person are made one; nothing that names the other is left behind, the old
// number and the old name find the one that is kept, and the record is whole.
func TestMergeCustomers(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, sheet := c.mustTakeIn(t, c.takingIn())
	other := sheet.Head.Docket.CustomerID
	kept := c.add(t, customer.Customer{Name: "Ada Quilmarsh", Phone: "01632 960777", Address: "2 Quay Row\nSaltby", Notes: "rings late"})[0]
	third := c.add(t, customer.Customer{Name: "A. Quillmarsh", Phone: "01632 960888"})[0]

	m := store.Merging{Kept: kept, Other: other, KeptVersion: 1, OtherVersion: 1, By: c.clerk, At: c.at,
		Sides: map[string]customer.Side{"name": customer.OfOther, "email": customer.OfOther}, Why: "The same person: she said so."}
	for field, bad := range map[string]func(*store.Merging){"why": func(m *store.Merging) { m.Why = " " },
		"other": func(m *store.Merging) { m.Other = m.Kept }, "phone": func(m *store.Merging) { m.Sides = map[string]customer.Side{"phone": "x"} }} {
		wrong := m
		bad(&wrong)
		var invalid *domain.InvalidError
		if err := c.MergeCustomers(t.Context(), wrong); !errors.As(err, &invalid) || invalid.Problems[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	stale := m
	stale.OtherVersion = 2
	if err := c.MergeCustomers(t.Context(), stale); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("by a version that nobody saw: %v", err)
	}
	if err := c.MergeCustomers(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	if err := c.MergeCustomers(t.Context(), m); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("merged again: %v", err)
	}
	if err := c.MergeCustomers(t.Context(), store.Merging{Kept: third, Other: kept, KeptVersion: 1, OtherVersion: 2, By: c.clerk,
		At: c.at, Why: "Her too."}); err != nil {
		t.Fatal(err)
	}
	page, err := c.CustomerSheet(t.Context(), third, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(page.Dockets) != 1 || page.Dockets[0].Number != n || len(page.Watches) != 1 || len(page.Merges) != 2 {
		t.Fatalf("the kept record has %d dockets, %d watches, %d merges", len(page.Dockets), len(page.Watches), len(page.Merges))
	}
	first := page.Merges[1]
	if first.Kept.Name != "Ada Quilmarsh" || first.Merged.Name != "Ada Quillmarsh" || first.Merged.Email != "ada@example.org" ||
		first.Dockets != 1 || first.Watches != 1 || first.By != "Nuala Reed" || first.Why != "The same person: she said so." {
		t.Errorf("of the merging stands %+v", first)
	}
	if page.Merges[0].Merged.Name != "Ada Quillmarsh" || page.Merges[0].Merged.Email != "ada@example.org" {
		t.Errorf("the record between was %+v", page.Merges[0].Merged)
	}
	for _, old := range []int64{kept, other} {
		if into, err := c.MergedInto(t.Context(), old); err != nil || into != third {
			t.Errorf("customer %d leads to %d, %v", old, into, err)
		}
	}
	for _, typed := range []string{"01632 960123", "960777", "960888", "ada quill", "ada@example"} {
		list, _, err := c.FindCustomers(t.Context(), typed, "GB", 5)
		if err != nil || len(list) != 1 || list[0].Customer.ID != third {
			t.Errorf("%q finds %+v, %v", typed, list, err)
		}
		found, err := c.Find(t.Context(), store.FindQuery{Text: typed, Region: "GB"})
		if all := slices.Concat(found.Phones, found.Names, found.Emails); err != nil || len(all) == 0 ||
			slices.ContainsFunc(all, func(f store.FoundCustomer) bool { return f.Customer.ID != third }) {
			t.Errorf("the find box finds %+v by %q, %v", all, typed, err)
		}
	}
	if list, _, err := c.Customers(t.Context(), store.CustomerMark{}); err != nil || len(list) != 1 {
		t.Errorf("%d customers are listed, %v", len(list), err)
	}
	if kinds := c.kinds(t, n); kinds[len(kinds)-1] != docket.CustomerMerged {
		t.Errorf("the docket's journal: %v", kinds)
	}
	in := c.takingIn()
	in.CustomerID, in.Watch.Serial, in.At = other, "77", c.at.Add(time.Hour)
	var invalid *domain.InvalidError
	if _, err := c.TakeIn(t.Context(), in); !errors.As(err, &invalid) || invalid.Problems["customer_choice"] == "" {
		t.Errorf("taken in for a record that was merged: %v", err)
	}
	storetest.Whole(t, c.Store)
}

// TestEveryTableOfACustomerGoesOver: a table that names a customer is moved when records are merged, or is known not to be.
func TestEveryTableOfACustomerGoesOver(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	rows, _ := s.Pool().Query(t.Context(), `SELECT DISTINCT c.conrelid::regclass::text FROM pg_constraint c
		WHERE c.contype = 'f' AND c.confrelid = 'customer'::regclass ORDER BY 1`)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	stays := []string{"customer", "customer_erasure", "customer_merge", "customer_word"}
	for _, table := range tables {
		if !slices.Contains(stays, table) && !slices.Contains(store.MovedTables(), table) {
			t.Errorf("table %s names a customer: its rows must go over when records are merged", table)
		}
	}
	for _, table := range slices.Concat(stays, store.MovedTables()) {
		if !slices.Contains(tables, table) {
			t.Errorf("table %s names no customer", table)
		}
	}
}
