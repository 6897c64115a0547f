-- +goose Up
-- The shop's day of money: which day of the till a payment falls to, cash that moved otherwise, and the days that were
-- counted and closed.

ALTER TABLE payment ADD COLUMN IF NOT EXISTS day date;
COMMENT ON COLUMN payment.day IS 'the civil day of the till that it falls to; null for one taken before the till was kept here';
CREATE INDEX payment_day_idx ON payment (currency, day, id) WHERE day IS NOT NULL;

CREATE TABLE till_move (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    day        date NOT NULL,
    currency   text NOT NULL CHECK (length(currency) = 3),
    kind       text NOT NULL CHECK (kind IN ('float', 'banked', 'expense', 'deposits', 'drawn')),
    minor      bigint NOT NULL CHECK (minor <> 0),
    note       text NOT NULL DEFAULT '',
    takes_back bigint UNIQUE REFERENCES till_move,
    by_id      bigint NOT NULL REFERENCES staff,
    at         timestamptz NOT NULL
);
COMMENT ON TABLE till_move IS 'cash that came into the till or left it without a payment';
COMMENT ON COLUMN till_move.day IS 'the civil day of the till that it falls to';
COMMENT ON COLUMN till_move.minor IS 'in minor units of currency; above 0 came in, below 0 left';
COMMENT ON COLUMN till_move.takes_back IS 'the move that was a mistake and is taken back by this one';
CREATE INDEX till_move_day_idx ON till_move (currency, day, id);

CREATE TABLE till_close (
    id               bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    day              date NOT NULL,
    currency         text NOT NULL CHECK (length(currency) = 3),
    opened_minor     bigint NOT NULL,
    book_minor       bigint NOT NULL,
    since_minor      bigint NOT NULL,
    counted_minor    bigint NOT NULL CHECK (counted_minor >= 0),
    difference_minor bigint NOT NULL CHECK (difference_minor = counted_minor - since_minor - book_minor),
    why              text NOT NULL DEFAULT '' CHECK (difference_minor = 0 OR why <> ''),
    pieces           jsonb NOT NULL,
    takings          jsonb NOT NULL,
    by_id            bigint NOT NULL REFERENCES staff,
    at               timestamptz NOT NULL,
    UNIQUE (currency, day)
);
COMMENT ON TABLE till_close IS 'a civil day whose cash was counted: nothing falls to it any more';
COMMENT ON COLUMN till_close.opened_minor IS 'cash that was there in the morning, in minor units of currency, as all amounts here';
COMMENT ON COLUMN till_close.book_minor IS 'cash that should have been there at the end of the day';
COMMENT ON COLUMN till_close.since_minor IS 'cash of later days that lay in the till when it was counted';
COMMENT ON COLUMN till_close.counted_minor IS 'cash that was counted, with that of later days';
COMMENT ON COLUMN till_close.pieces IS 'coins and notes: [{worth_minor, pieces}]; empty where the sum was typed';
COMMENT ON COLUMN till_close.takings IS 'what each way of payment came to: [{way, minor}]';

-- A closed day is not written into, whatever the program does.
-- +goose StatementBegin
CREATE FUNCTION till_day_open() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM till_close c WHERE c.currency = NEW.currency AND c.day >= NEW.day) THEN
        RAISE EXCEPTION 'the day % of the till is closed', NEW.day USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE FUNCTION till_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was written of the till stays as it was written' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER payment_day_open BEFORE INSERT OR UPDATE OF day, minor, currency, method ON payment
    FOR EACH ROW WHEN (NEW.day IS NOT NULL) EXECUTE FUNCTION till_day_open();
CREATE TRIGGER till_move_day_open BEFORE INSERT ON till_move FOR EACH ROW EXECUTE FUNCTION till_day_open();
CREATE TRIGGER till_move_no_change BEFORE UPDATE OR DELETE ON till_move FOR EACH ROW EXECUTE FUNCTION till_fixed();
CREATE TRIGGER till_close_in_order BEFORE INSERT ON till_close FOR EACH ROW EXECUTE FUNCTION till_day_open();
CREATE TRIGGER till_close_no_change BEFORE UPDATE OR DELETE ON till_close FOR EACH ROW EXECUTE FUNCTION till_fixed();

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON till_move FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON till_close FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE till_close;
DROP TABLE till_move;
DROP TRIGGER payment_day_open ON payment;
DROP FUNCTION till_fixed;
DROP FUNCTION till_day_open;
DROP INDEX payment_day_idx;
ALTER TABLE payment DROP COLUMN IF EXISTS day;
