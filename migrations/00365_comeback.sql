-- +goose Up
-- What brought a watch back under warranty, whether the warranty covers it, and what an hour at the bench costs the shop.

CREATE TABLE comeback (
    docket_id  bigint PRIMARY KEY REFERENCES docket,
    cause      text NOT NULL CHECK (cause IN ('workmanship', 'part', 'wear', 'accident', 'other-hand', 'nothing-found')),
    found      text NOT NULL CHECK (found <> ''),
    cover      text NOT NULL CHECK (cover IN ('open', 'covered', 'not-covered')),
    cover_why  text NOT NULL CHECK (cover_why <> '' OR cover = 'open'),
    said_by    bigint NOT NULL REFERENCES staff,
    said_at    timestamptz NOT NULL,
    decided_by bigint REFERENCES staff,
    CHECK ((decided_by IS NULL) = (cover = 'open'))
);
COMMENT ON TABLE comeback IS 'what was said last of a docket that names the one it comes back on; what was said before stands in its journal';
COMMENT ON COLUMN comeback.found IS 'a sentence for the shop';
COMMENT ON COLUMN comeback.cover IS 'open: the cause is known, the owner still has to decide';
COMMENT ON COLUMN comeback.cover_why IS 'a sentence for the customer';
COMMENT ON COLUMN comeback.decided_by IS 'who decided on the cover as it stands';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON comeback FOR EACH ROW EXECUTE FUNCTION record_written('docket_id', '');

-- The list of comebacks is paged by these.
CREATE INDEX docket_comebacks_idx ON docket (id) WHERE comeback_of IS NOT NULL;
CREATE INDEX docket_comebacks_open_idx ON docket (id) WHERE comeback_of IS NOT NULL AND open;

ALTER TABLE shop ADD COLUMN bench_hour_minor bigint CHECK (bench_hour_minor > 0);
ALTER TABLE shop_version ADD COLUMN bench_hour_minor bigint CHECK (bench_hour_minor > 0);
COMMENT ON COLUMN shop.bench_hour_minor IS 'what an hour at the bench costs the shop, in minor units of its currency; null where the owner has not said';

-- +goose Down
ALTER TABLE shop_version DROP COLUMN bench_hour_minor;
ALTER TABLE shop DROP COLUMN bench_hour_minor;
DROP INDEX docket_comebacks_open_idx;
DROP INDEX docket_comebacks_idx;
DROP TABLE comeback;
