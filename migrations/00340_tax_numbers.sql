-- +goose Up
-- The numbers under which the shop and its customers are registered for tax.

ALTER TABLE customer ADD COLUMN tax_number text;
COMMENT ON COLUMN customer.tax_number IS 'under which a firm is registered for VAT, as domain/taxnumber tidies it; null for none';
ALTER TABLE shop ADD COLUMN tax_number text, ADD COLUMN other_tax_number text;
ALTER TABLE shop_version ADD COLUMN tax_number text, ADD COLUMN other_tax_number text;
COMMENT ON COLUMN shop.tax_number IS 'under which the shop is registered for VAT, as domain/taxnumber tidies it; null for none';
COMMENT ON COLUMN shop.other_tax_number IS 'another that the country asks for on invoices, as it is written there; null for none';

-- +goose Down
ALTER TABLE shop_version DROP COLUMN tax_number, DROP COLUMN other_tax_number;
ALTER TABLE shop DROP COLUMN tax_number, DROP COLUMN other_tax_number;
ALTER TABLE customer DROP COLUMN tax_number;
