-- +goose Up
-- What the insurer covers, as the owner wrote it down from the policy, and what declared values are read by.

CREATE TABLE insurer_limit (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    currency       text NOT NULL CHECK (length(currency) = 3),
    safe_minor     bigint CHECK (safe_minor >= 0),
    bench_minor    bigint CHECK (bench_minor >= 0),
    counter_minor  bigint CHECK (counter_minor >= 0),
    sent_out_minor bigint CHECK (sent_out_minor >= 0),
    unlocked_minor bigint CHECK (unlocked_minor >= 0),
    in_all_minor   bigint CHECK (in_all_minor >= 0),
    item_minor     bigint CHECK (item_minor >= 0),
    kept_by        bigint NOT NULL REFERENCES staff,
    kept_at        timestamptz NOT NULL
);
COMMENT ON TABLE insurer_limit IS 'a saving of the limits of the insurer, in minor units of currency; the newest holds; null for no limit';
COMMENT ON COLUMN insurer_limit.unlocked_minor IS 'counter and benches together: what lies out of the safe';
COMMENT ON COLUMN insurer_limit.item_minor IS 'of one watch';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON insurer_limit FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

CREATE INDEX docket_value_idx ON docket (place, currency, declared_minor) WHERE open;
CREATE INDEX docket_dearest_idx ON docket (currency, declared_minor DESC, id) WHERE open AND declared_minor IS NOT NULL;
CREATE INDEX docket_undeclared_idx ON docket (id) WHERE open AND declared_minor IS NULL;

-- +goose Down
DROP INDEX docket_undeclared_idx;
DROP INDEX docket_dearest_idx;
DROP INDEX docket_value_idx;
DROP TABLE insurer_limit;
