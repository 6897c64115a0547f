package e2e

import (
	"go/ast"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// ownNumbers are the files that turn text into numbers without package figure, with how often and why: what they read
// was written by a program, or is an id, a code, a choice of a list.
var ownNumbers = map[string]struct {
	calls int
	why   string
}{
	"domain/figure/figure.go":                  {3, "is the reader"},
	"domain/figure/write.go":                   {1, "rounding through strconv"},
	"domain/chronometer/criterion.go":          {1, "the table of limits in its own source"},
	"domain/chronometer/rates.go":              {1, "what a figure writes of itself"},
	"domain/logo/logo.go":                      {2, "the size in a logo's name, that the program wrote"},
	"domain/logo/plain.go":                     {3, "lengths of a drawing, and rounding through strconv"},
	"domain/logo/shapes.go":                    {2, "numbers of a drawing, as SVG spells them"},
	"domain/docket/number.go":                  {2, "the digits of a docket's number"},
	"domain/visit/visit.go":                    {1, "the digits of a visit's number"},
	"domain/record/seal.go":                    {1, "the size in a checkpoint"},
	"domain/staff/known.go":                    {1, "a moment in a token that the program signed"},
	"store/recordcheckrange.go":                {1, "a sequence that the program wrote"},
	"domain/docket/terms.go":                   {1, "a number that the journal wrote"},
	"domain/metrology/format.go":               {1, "the exponent that strconv wrote"},
	"domain/timing/position.go":                {1, "the hour in a position's symbol"},
	"domain/train/words.go":                    {1, "what strconv wrote, compared with its fraction"},
	"domain/warranty/payload.go":               {2, "a card's signed bytes, where one spelling is right"},
	"domain/watch/calibrefield.go":             {1, "the exponent that strconv wrote"},
	"store/pgserver/account_unix.go":           {2, "the operating system's user ids"},
	"store/pgserver/binaries.go":               {2, "versions of PostgreSQL"},
	"store/pgserver/cluster_unix.go":           {1, "a process id in PostgreSQL's file"},
	"store/pgserver/scratch_linux.go":          {1, "a size that the system wrote"},
	"web/bench/hearing/listen.go":              {2, "ids"},
	"web/bench/hearing/listen_keep.go":         {1, "a docket's number in a form"},
	"web/bench/parts.go":                       {2, "an entry's number in an address, ids"},
	"web/bench/regulation/regulation.go":       {1, "an id"},
	"web/bench/tools/balance/balance.go":       {1, "rounding through strconv"},
	"web/bench/tools/toolset/counting.go":      {1, "a choice of a list"},
	"web/bench/tools/balance/regulating.go":    {1, "a choice of a list"},
	"web/bench/trials/trial.go":                {2, "an id and a choice of a list"},
	"web/bench/trials/trial_form.go":           {1, "a day's number in an address"},
	"web/counter/condition.go":                 {1, "a mark's number in a button"},
	"web/counter/customers.go":                 {2, "ids"},
	"web/counter/estimates/estimate_editor.go": {1, "a line's number in a button"},
	"web/counter/estimates/estimate_view.go":   {1, "a line's number in a field's name"},
	"web/counter/invoices/invoices.go":         {2, "a line's place in the name of a field, and in a tick"},
	"web/counter/estimates/papers_estimate.go": {1, "a revision's number in an address"},
	"cmd/ledgerwheel/erased.go":                {1, "an id in a list that the program wrote"},
	"web/counter/handover/papers_handover.go":  {1, "the hours in a card's state of wind, that the program wrote"},
	"web/counter/told/papers_letter.go":        {1, "a letter's id in an address"},
	"web/counter/told/told.go":                 {1, "a message's id in an address"},
	"web/counter/persons/merge.go":             {1, "a customer's number in an address"},
	"web/counter/persons/erase.go":             {1, "a photograph's number in a box that is ticked"},
	"web/api/dockets.go":                       {1, "an id in a cursor that the program wrote"},
	"web/office/accesslog.go":                  {1, "a line's number in an address"},
	"web/office/prices/prices.go":              {1, "a line's number in a field's name"},
	"web/office/figures/figures.go":            {1, "where a page of dockets begins"},
	"web/office/stock/stock.go":                {2, "a lot's id in a form, and where a page of the ledger begins"},
	"web/office/stock/stocktake.go":            {1, "a lot's id in a form"},
	"domain/ledger/stocktake.go":               {1, "a part's id on a label"},
	"web/office/orders/happened.go":            {1, "a line's id in a form"},
	"web/office/orders/needs.go":               {1, "a need's id in a form"},
	"web/office/orders/order.go":               {2, "a line's id in a form, and its place in the list of problems"},
	"web/office/orders/orders.go":              {1, "an order's id in an address"},
	"domain/books/books.go":                    {1, "a rate of tax in an account's own name"},
	"web/office/till/count.go":                 {1, "a sum that the page itself put into its form"},
	"web/office/record.go":                     {1, "an entry's number in an address"},
	"web/office/watchlist.go":                  {1, "an entry's number in an address"},
	"web/counter/parcels/arrivals.go":          {1, "a parcel's number in an address"},
	"web/page/form.go":                         {1, "an id"},
	"web/page/path.go":                         {1, "an id in an address"},
	"web/page/stamp.go":                        {1, "an id in a form's own stamp"},
	"web/page/refill/rows.go":                  {2, "a line's number in a field's name"},
	"web/priced/lines.go":                      {1, "a line's number in a form"},
	"web/sheet/conflict.go":                    {1, "a line's number in a field's name"},
	"web/sheet/journalfacts.go":                {1, "a number that the journal wrote"},
	"web/sheet/ending.go":                      {1, "a version in a form"},
	"web/counter/handover/together.go":         {2, "a version and a sum in minor units, as the page itself wrote them"},
	"web/sheet/journal.go":                     {1, "an entry's number in an address"},
	"web/today/dockets.go":                     {2, "a choice of a list and an id, in an address"},
	"web/view/outline.go":                      {2, "a place on the outline that a script wrote"},
	"web/webtest/regulation.go":                {1, "an id in an address, in tests"},
}

// TestTypedNumbersHaveOneReader: what people type is read by package figure, in every room.
func TestTypedNumbersHaveOneReader(t *testing.T) {
	t.Parallel()
	calls := map[string]int{}
	for _, s := range sources(t) {
		file := filepath.ToSlash(s.file)
		top, _, _ := strings.Cut(file, "/")
		if s.test || !slices.Contains([]string{"domain", "web", "store", "cmd"}, top) {
			continue
		}
		if n := len(numbersRead(s.syntax)); n > 0 {
			calls[file] = n
		}
	}
	for file, n := range calls {
		if n != ownNumbers[file].calls {
			t.Errorf("%s reads %d numbers by itself, %d are allowed (%s): use package figure, or say why not",
				file, n, ownNumbers[file].calls, ownNumbers[file].why)
		}
	}
	for file := range ownNumbers {
		if calls[file] == 0 {
			t.Errorf("%s reads no numbers by itself any more: strike it out", file)
		}
	}
}

// numbersRead lists the calls that turn text into a number.
func numbersRead(file *ast.File) []string {
	readers := map[string][]string{
		"strconv": {"Atoi", "ParseFloat", "ParseInt", "ParseUint"},
		"fmt":     {"Sscan", "Sscanf", "Sscanln"},
	}
	var list []string
	ast.Inspect(file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		name := sel.Sel.Name
		if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(readers[x.Name], name) || name == "SetString" {
			list = append(list, name)
		}
		return true
	})
	return list
}
