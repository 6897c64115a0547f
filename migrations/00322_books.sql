-- +goose Up
-- The accounts of the books, as the owner's book-keeper names them.

CREATE TABLE book_account (
    account text PRIMARY KEY CHECK (account <> ''),
    number  text NOT NULL DEFAULT '',
    name    text NOT NULL DEFAULT '',
    version integer NOT NULL,
    kept_by bigint NOT NULL REFERENCES staff,
    kept_at timestamptz NOT NULL
);
COMMENT ON TABLE book_account IS 'an account to which takings, sales and tax are booked';
COMMENT ON COLUMN book_account.account IS 'what it is for: debtors, sales:2000 and tax:2000 (rate in basis points), way:cash and so on';
COMMENT ON COLUMN book_account.version IS 'of the whole list, as the form states it';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON book_account FOR EACH ROW EXECUTE FUNCTION record_written('account', '');

-- What is billed and paid is added up from the beginning, without reading the rows themselves.
CREATE INDEX invoice_books_idx ON invoice (currency, booked_on) INCLUDE (kind, gross_minor);
CREATE INDEX payment_books_idx ON payment (currency, day) INCLUDE (minor, rounded_minor) WHERE day IS NOT NULL;
CREATE INDEX payment_undated_idx ON payment (currency, docket_id) INCLUDE (minor, rounded_minor) WHERE day IS NULL;

-- +goose Down
DROP INDEX payment_undated_idx;
DROP INDEX payment_books_idx;
DROP INDEX invoice_books_idx;
DROP TABLE book_account;
