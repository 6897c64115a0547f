// Package invoices has what the shop bills: invoices, deposit invoices and credit notes, and their papers.
package invoices
