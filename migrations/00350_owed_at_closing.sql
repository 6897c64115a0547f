-- +goose Up
-- A closed day keeps what customers owed at its end, so that the books need not add up everything from the beginning.

ALTER TABLE till_close ADD COLUMN owed_minor bigint;
COMMENT ON COLUMN till_close.owed_minor IS 'what customers owed at the end of the day, less what they had paid ahead; null for one closed before this was kept';

-- +goose StatementBegin
CREATE FUNCTION invoice_day_open() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM till_close c WHERE c.currency = NEW.currency AND c.day >= NEW.booked_on) THEN
        RAISE EXCEPTION 'the day % of the books is closed', NEW.booked_on USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER invoice_day_open BEFORE INSERT ON invoice FOR EACH ROW EXECUTE FUNCTION invoice_day_open();

-- At which rates was ever billed is asked of the index alone.
CREATE INDEX invoice_rate_rates_idx ON invoice_rate (tax_basis_points);

-- +goose Down
DROP INDEX invoice_rate_rates_idx;
DROP TRIGGER invoice_day_open ON invoice;
DROP FUNCTION invoice_day_open;
ALTER TABLE till_close DROP COLUMN owed_minor;
