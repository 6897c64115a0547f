-- +goose Up
-- Invoices, deposit invoices and credit notes: numbers without a gap in series of the owner's choosing, and documents that stay as
-- the buyer has them.

CREATE TABLE invoice_series (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name           text NOT NULL CHECK (name <> ''),
    before         text NOT NULL,
    digits         integer NOT NULL CHECK (digits BETWEEN 1 AND 9),
    yearly         boolean NOT NULL,
    usual          boolean NOT NULL DEFAULT false,
    usual_credit   boolean NOT NULL DEFAULT false,
    ended          boolean NOT NULL DEFAULT false,
    version        integer NOT NULL DEFAULT 1,
    kept_by        bigint REFERENCES staff,
    kept_at        timestamptz NOT NULL,
    CHECK (NOT (ended AND (usual OR usual_credit)))
);
COMMENT ON TABLE invoice_series IS 'a run of invoice numbers, as the owner chose it';
COMMENT ON COLUMN invoice_series.before IS 'what stands before the number; {year} is the year of issue';
COMMENT ON COLUMN invoice_series.digits IS 'the least, with zeros before';
COMMENT ON COLUMN invoice_series.yearly IS 'begins again each year';
COMMENT ON COLUMN invoice_series.usual IS 'of invoices and deposit invoices where nobody chose another';
COMMENT ON COLUMN invoice_series.usual_credit IS 'of credit notes where nobody chose another';
COMMENT ON COLUMN invoice_series.kept_by IS 'null for the series that a shop begins with';
CREATE UNIQUE INDEX invoice_series_name_idx ON invoice_series (lower(name)) WHERE NOT ended;
CREATE UNIQUE INDEX invoice_series_usual_idx ON invoice_series (usual) WHERE usual;
CREATE UNIQUE INDEX invoice_series_usual_credit_idx ON invoice_series (usual_credit) WHERE usual_credit;

-- The counter of each series. A number is taken by the transaction that issues its document, which holds the row till it ends:
-- who fails gives the number back, and nobody overtakes. It says nothing that the invoices don't: it is no evidence.
CREATE TABLE invoice_number (
    series_id bigint NOT NULL REFERENCES invoice_series,
    year      integer NOT NULL,
    last      integer NOT NULL CHECK (last >= 0),
    PRIMARY KEY (series_id, year)
);
COMMENT ON COLUMN invoice_number.year IS '0 where the series is not yearly';

CREATE TABLE invoice (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    series_id   bigint NOT NULL REFERENCES invoice_series,
    year        integer NOT NULL,
    n           integer NOT NULL CHECK (n > 0),
    number      text NOT NULL UNIQUE CHECK (number <> ''),
    kind        text NOT NULL CHECK (kind IN ('invoice', 'deposit-invoice', 'credit-note')),
    docket_id   bigint NOT NULL REFERENCES docket,
    answers_id  bigint REFERENCES invoice,
    issued_on   date NOT NULL,
    booked_on   date NOT NULL,
    currency    text NOT NULL CHECK (length(currency) = 3),
    net_minor   bigint NOT NULL CHECK (net_minor >= 0),
    tax_minor   bigint NOT NULL CHECK (tax_minor >= 0),
    gross_minor bigint NOT NULL CHECK (gross_minor = net_minor + tax_minor),
    body        jsonb NOT NULL,
    by_id       bigint REFERENCES staff,
    at          timestamptz NOT NULL,
    UNIQUE (series_id, year, n),
    CHECK ((kind = 'credit-note') = (answers_id IS NOT NULL))
);
COMMENT ON TABLE invoice IS 'a document that was issued: never changed, only answered by a credit note';
COMMENT ON COLUMN invoice.year IS 'of its number; 0 where the series is not yearly';
COMMENT ON COLUMN invoice.answers_id IS 'of a credit note: the document that it answers';
COMMENT ON COLUMN invoice.issued_on IS 'civil day in the shop''s zone';
COMMENT ON COLUMN invoice.booked_on IS 'civil day to which the books put it: a closed day is not written into';
COMMENT ON COLUMN invoice.gross_minor IS 'in minor units of currency, after the deposits that it takes off; of a credit note what it takes off';
COMMENT ON COLUMN invoice.body IS 'the whole document: nothing of it is looked up again';
COMMENT ON COLUMN invoice.by_id IS 'null where the program did it by itself';
CREATE INDEX invoice_booked_idx ON invoice (booked_on, id);
CREATE INDEX invoice_docket_idx ON invoice (docket_id, id);
CREATE INDEX invoice_answers_idx ON invoice (answers_id) WHERE answers_id IS NOT NULL;

CREATE TABLE invoice_rate (
    invoice_id       bigint NOT NULL REFERENCES invoice,
    tax_basis_points integer NOT NULL CHECK (tax_basis_points BETWEEN 0 AND 10000),
    net_minor        bigint NOT NULL CHECK (net_minor >= 0),
    tax_minor        bigint NOT NULL CHECK (tax_minor >= 0),
    gross_minor      bigint NOT NULL CHECK (gross_minor = net_minor + tax_minor),
    PRIMARY KEY (invoice_id, tax_basis_points)
);
COMMENT ON TABLE invoice_rate IS 'what a document comes to at each rate of tax, in minor units, signed as in invoice';

-- +goose StatementBegin
CREATE FUNCTION invoice_issued() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- An erasure takes the buyer's words out of the body, and nothing else.
    IF TG_OP = 'UPDATE' AND TG_TABLE_NAME = 'invoice' AND current_setting('ledgerwheel.erasing', true) = 'yes'
        AND to_jsonb(OLD) - 'body' = to_jsonb(NEW) - 'body' THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'an issued document is never changed or deleted: a credit note answers it' USING ERRCODE = 'restrict_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER invoice_issued BEFORE UPDATE OR DELETE ON invoice FOR EACH ROW EXECUTE FUNCTION invoice_issued();
CREATE TRIGGER invoice_no_truncate BEFORE TRUNCATE ON invoice FOR EACH STATEMENT EXECUTE FUNCTION invoice_issued();
CREATE TRIGGER invoice_issued BEFORE UPDATE OR DELETE ON invoice_rate FOR EACH ROW EXECUTE FUNCTION invoice_issued();
CREATE TRIGGER invoice_no_truncate BEFORE TRUNCATE ON invoice_rate FOR EACH STATEMENT EXECUTE FUNCTION invoice_issued();

ALTER TABLE payment ADD COLUMN rounded_minor bigint, ADD COLUMN day date,
    DROP CONSTRAINT payment_minor_check, ADD CONSTRAINT payment_minor_check CHECK (minor <> 0 OR rounded_minor <> 0);
COMMENT ON COLUMN payment.rounded_minor IS 'what was paid over what was due, below zero for under it, because cash goes in steps; null for nothing';
COMMENT ON COLUMN payment.day IS 'civil day of the till that it falls to; null for one taken before days were kept';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON invoice_series FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON invoice FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON invoice_rate FOR EACH ROW EXECUTE FUNCTION record_written('invoice_id,tax_basis_points', '');

INSERT INTO invoice_series (name, before, digits, yearly, usual, usual_credit, kept_at) VALUES ('Invoices', '{year}-', 4, true, true, true, date_trunc('milliseconds', now()));
INSERT INTO record_unentered (lines) VALUES (current_setting('ledgerwheel.written'));

-- +goose Down
ALTER TABLE payment DROP CONSTRAINT payment_minor_check, DROP COLUMN rounded_minor, DROP COLUMN day, ADD CONSTRAINT payment_minor_check CHECK (minor <> 0);
DROP TABLE invoice_rate;
DROP TABLE invoice;
DROP FUNCTION invoice_issued;
DROP TABLE invoice_number;
DROP TABLE invoice_series;
