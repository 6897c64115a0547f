-- +goose Up
-- Watches that the shop lends to customers while theirs is here.

CREATE TABLE loan_watch (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    maker       text NOT NULL CHECK (maker <> ''),
    model       text NOT NULL,
    serial      text NOT NULL,
    value_minor bigint NOT NULL CHECK (value_minor > 0),
    currency    text NOT NULL CHECK (length(currency) = 3),
    state       text NOT NULL CHECK (state <> ''),
    kept_by     bigint NOT NULL REFERENCES staff,
    kept_at     timestamptz NOT NULL,
    ended_at    timestamptz
);
COMMENT ON TABLE loan_watch IS 'a watch of the shop that it lends; state is how it looks now, value_minor in minor units of currency';
COMMENT ON COLUMN loan_watch.ended_at IS 'lent no more';

CREATE TABLE loan (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    loan_watch_id bigint NOT NULL REFERENCES loan_watch,
    docket_id     bigint NOT NULL REFERENCES docket,
    out_at        timestamptz NOT NULL,
    out_by        bigint NOT NULL REFERENCES staff,
    out_under     bigint NOT NULL REFERENCES shop_version,
    out_state     text NOT NULL CHECK (out_state <> ''),
    due_on        date,
    deposit_minor bigint CHECK (deposit_minor > 0),
    deposit_how   text NOT NULL,
    kept_out_why  text NOT NULL DEFAULT '',
    kept_out_by   bigint REFERENCES staff,
    back_at       timestamptz,
    back_by       bigint REFERENCES staff,
    back_state    text NOT NULL DEFAULT '',
    deposit_back  text NOT NULL DEFAULT '',
    CHECK (back_at IS NULL OR back_state <> '')
);
COMMENT ON TABLE loan IS 'a loan watch handed out with a docket';
COMMENT ON COLUMN loan.due_on IS 'civil day in the shop by which it is wanted back; null for when the watch is handed over';
COMMENT ON COLUMN loan.deposit_minor IS 'in minor units of the loan watch''s currency; null for none';
COMMENT ON COLUMN loan.deposit_back IS 'what became of the deposit';
COMMENT ON COLUMN loan.kept_out_why IS 'why it stays out after the customer''s own watch was handed over';
CREATE UNIQUE INDEX loan_out_idx ON loan (loan_watch_id) WHERE back_at IS NULL;
CREATE INDEX loan_docket_idx ON loan (docket_id, id);

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON loan_watch FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON loan FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE loan;
DROP TABLE loan_watch;
