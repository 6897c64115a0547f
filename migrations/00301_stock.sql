-- +goose Up
-- The stock ledger: parts of the catalogue, where they come from, their lots, and the moves from which quantities follow.

CREATE TABLE supplier (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name      text NOT NULL CHECK (name <> ''),
    email     text NOT NULL DEFAULT '',
    phone     text NOT NULL DEFAULT '',
    address   text NOT NULL DEFAULT '',
    account   text NOT NULL DEFAULT '',
    lead_days integer CHECK (lead_days >= 0),
    note      text NOT NULL DEFAULT '',
    version   integer NOT NULL DEFAULT 1,
    kept_by   bigint NOT NULL REFERENCES staff,
    kept_at   timestamptz NOT NULL,
    ended_at  timestamptz
);
COMMENT ON TABLE supplier IS 'whom the shop orders parts from';
COMMENT ON COLUMN supplier.account IS 'the number by which the supplier knows the shop';
COMMENT ON COLUMN supplier.lead_days IS 'days from order to arrival, as usual; null where nobody said';
CREATE UNIQUE INDEX supplier_name_idx ON supplier (lower(name)) WHERE ended_at IS NULL;

CREATE TABLE part (
    id               bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    number           text NOT NULL CHECK (number <> ''),
    name             text NOT NULL CHECK (name <> ''),
    unit             text NOT NULL CHECK (unit <> ''),
    drawer           text NOT NULL DEFAULT '',
    fits             text NOT NULL DEFAULT '',
    currency         text NOT NULL CHECK (length(currency) = 3),
    cost_minor       bigint CHECK (cost_minor >= 0),
    price_minor      bigint CHECK (price_minor >= 0),
    includes_tax     boolean NOT NULL,
    tax_basis_points integer NOT NULL CHECK (tax_basis_points BETWEEN 0 AND 10000),
    reorder_at       integer CHECK (reorder_at >= 0),
    reorder_to       integer CHECK (reorder_to > reorder_at),
    ages             boolean NOT NULL DEFAULT false,
    version          integer NOT NULL DEFAULT 1,
    kept_by          bigint NOT NULL REFERENCES staff,
    kept_at          timestamptz NOT NULL,
    ended_at         timestamptz
);
COMMENT ON TABLE part IS 'a part of the catalogue';
COMMENT ON COLUMN part.number IS 'the shop''s own';
COMMENT ON COLUMN part.fits IS 'calibres and references, a line each';
COMMENT ON COLUMN part.cost_minor IS 'of one, in minor units of currency, without tax; null where nobody said';
COMMENT ON COLUMN part.price_minor IS 'of one, to the customer, in minor units of currency';
COMMENT ON COLUMN part.reorder_at IS 'with so few free ones it is ordered again; null for never by itself';
COMMENT ON COLUMN part.reorder_to IS 'up to so many';
COMMENT ON COLUMN part.ages IS 'kept in lots, as oils, seals and cells are';
CREATE UNIQUE INDEX part_number_idx ON part (number) WHERE ended_at IS NULL;

CREATE TABLE part_source (
    part_id     bigint NOT NULL REFERENCES part,
    ordinal     integer NOT NULL,
    supplier_id bigint NOT NULL REFERENCES supplier,
    number      text NOT NULL CHECK (number <> ''),
    PRIMARY KEY (part_id, ordinal)
);
COMMENT ON TABLE part_source IS 'the number under which a supplier has a part, the usual one first';
CREATE INDEX part_source_number_idx ON part_source (lower(number));

CREATE TABLE lot (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    part_id   bigint NOT NULL REFERENCES part,
    number    text NOT NULL CHECK (number <> ''),
    made_on   date,
    usable_to date,
    opened_on date,
    kept_by   bigint NOT NULL REFERENCES staff,
    kept_at   timestamptz NOT NULL
);
COMMENT ON TABLE lot IS 'a delivery of a part that ages';
COMMENT ON COLUMN lot.usable_to IS 'the last civil day of its life; null where the label names none';
CREATE INDEX lot_part_idx ON lot (part_id, id);

CREATE TABLE stock_move (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    part_id      bigint NOT NULL REFERENCES part,
    seq          bigint NOT NULL,
    kind         text NOT NULL CHECK (kind IN ('received', 'reserved', 'released', 'fitted', 'put-back', 'sent-back', 'counted', 'written-off')),
    pieces       integer NOT NULL CHECK (pieces <> 0 AND (pieces > 0 OR kind = 'counted')),
    lot_id       bigint REFERENCES lot,
    docket_id    bigint REFERENCES docket,
    part_line_id bigint REFERENCES part_line,
    why          text NOT NULL DEFAULT '',
    by_id        bigint NOT NULL REFERENCES staff,
    at           timestamptz NOT NULL,
    UNIQUE (part_id, seq),
    CHECK (docket_id IS NOT NULL OR kind NOT IN ('reserved', 'released', 'fitted', 'put-back'))
);
COMMENT ON TABLE stock_move IS 'a line of the stock ledger: every quantity follows from these';
COMMENT ON COLUMN stock_move.seq IS 'from 1 within the part';
CREATE INDEX stock_move_docket_idx ON stock_move (docket_id, id) WHERE docket_id IS NOT NULL;

-- What the moves come to, kept in the transaction of each move so that no list adds them up.
CREATE TABLE stock (
    part_id  bigint PRIMARY KEY REFERENCES part,
    seq      bigint NOT NULL DEFAULT 0,
    on_hand  integer NOT NULL DEFAULT 0 CHECK (on_hand >= 0),
    reserved integer NOT NULL DEFAULT 0 CHECK (reserved BETWEEN 0 AND on_hand)
);
CREATE TABLE stock_lot (
    part_id bigint NOT NULL REFERENCES part,
    lot_id  bigint NOT NULL,
    pieces  integer NOT NULL CHECK (pieces > 0),
    PRIMARY KEY (part_id, lot_id)
);
COMMENT ON COLUMN stock_lot.lot_id IS '0 for pieces without a lot';
CREATE TABLE stock_held (
    part_id   bigint NOT NULL REFERENCES part,
    ordinal   integer NOT NULL,
    docket_id bigint NOT NULL REFERENCES docket,
    pieces    integer NOT NULL CHECK (pieces > 0),
    PRIMARY KEY (part_id, ordinal)
);
CREATE INDEX stock_held_docket_idx ON stock_held (docket_id);

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON supplier FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON part FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON part_source FOR EACH ROW EXECUTE FUNCTION record_written('part_id,ordinal', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON lot FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON stock_move FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE stock_held;
DROP TABLE stock_lot;
DROP TABLE stock;
DROP TABLE stock_move;
DROP TABLE lot;
DROP TABLE part_source;
DROP TABLE part;
DROP TABLE supplier;
