-- +goose Up
-- A stocktake: drawer by drawer what was counted, beside what the book had then. It can be left and gone on with; what differs
-- waits to be explained, and is then booked as moves of stock.

CREATE TABLE stocktake (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    begun_by bigint NOT NULL REFERENCES staff,
    begun_at timestamptz NOT NULL,
    ended_by bigint REFERENCES staff,
    ended_at timestamptz
);
CREATE UNIQUE INDEX stocktake_open_idx ON stocktake ((true)) WHERE ended_at IS NULL;

CREATE TABLE stocktake_count (
    stocktake_id bigint NOT NULL REFERENCES stocktake,
    part_id      bigint NOT NULL REFERENCES part,
    lot_id       bigint NOT NULL,
    pieces       integer NOT NULL CHECK (pieces >= 0),
    book         integer NOT NULL CHECK (book >= 0),
    counted_by   bigint NOT NULL REFERENCES staff,
    counted_at   timestamptz NOT NULL,
    why          text NOT NULL DEFAULT '',
    booked_at    timestamptz,
    PRIMARY KEY (stocktake_id, part_id, lot_id)
);
COMMENT ON COLUMN stocktake_count.lot_id IS '0 for pieces without a lot';
COMMENT ON COLUMN stocktake_count.book IS 'what the book had when it was counted';
COMMENT ON COLUMN stocktake_count.booked_at IS 'when the difference was booked; null where it waits to be explained, or where there is none';
CREATE INDEX stocktake_differs_idx ON stocktake_count (stocktake_id, part_id) WHERE pieces <> book AND booked_at IS NULL;
CREATE INDEX part_place_idx ON part (drawer, number) WHERE ended_at IS NULL;

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON stocktake FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON stocktake_count FOR EACH ROW EXECUTE FUNCTION record_written('stocktake_id,part_id,lot_id', '');

-- +goose Down
DROP INDEX part_place_idx;
DROP TABLE stocktake_count;
DROP TABLE stocktake;
