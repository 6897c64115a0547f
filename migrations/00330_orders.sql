-- +goose Up
-- Orders to suppliers: what was ordered, and what happened to each piece of it.

CREATE TABLE purchase_order (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    year        integer NOT NULL,
    n           integer NOT NULL,
    number      text NOT NULL UNIQUE,
    supplier_id bigint NOT NULL REFERENCES supplier,
    currency    text NOT NULL CHECK (length(currency) = 3),
    note        text NOT NULL DEFAULT '',
    version     integer NOT NULL DEFAULT 1,
    kept_by     bigint NOT NULL REFERENCES staff,
    kept_at     timestamptz NOT NULL,
    way         text CHECK (way IN ('mail', 'telephone', 'otherwise')),
    to_name     text,
    to_email    text,
    to_address  text,
    to_account  text,
    sent_on     date,
    sent_under  bigint REFERENCES shop_version,
    UNIQUE (year, n)
);
COMMENT ON TABLE purchase_order IS 'an order to a supplier';
COMMENT ON COLUMN purchase_order.note IS 'to the supplier, on the order';
COMMENT ON COLUMN purchase_order.way IS 'how it went out; null for a draft, as are the columns below';
COMMENT ON COLUMN purchase_order.to_name IS 'the supplier as it was then';
COMMENT ON COLUMN purchase_order.sent_on IS 'civil day in the shop';
COMMENT ON COLUMN purchase_order.sent_under IS 'the settings that the paper is made of';
CREATE INDEX purchase_order_supplier_idx ON purchase_order (supplier_id, id);

CREATE TABLE order_line (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    order_id     bigint NOT NULL REFERENCES purchase_order,
    part_id      bigint REFERENCES part,
    part_line_id bigint REFERENCES part_line,
    docket_id    bigint REFERENCES docket,
    number       text NOT NULL DEFAULT '',
    description  text NOT NULL DEFAULT '',
    pieces       integer NOT NULL CHECK (pieces > 0),
    cost_minor   bigint CHECK (cost_minor >= 0),
    CHECK ((part_line_id IS NULL) = (docket_id IS NULL))
);
COMMENT ON TABLE order_line IS 'a part of an order, as it was ordered';
COMMENT ON COLUMN order_line.part_id IS 'of the catalogue; null for a part that never is stock';
COMMENT ON COLUMN order_line.part_line_id IS 'of the docket that waits for it; null for the drawer';
COMMENT ON COLUMN order_line.number IS 'the supplier''s';
COMMENT ON COLUMN order_line.cost_minor IS 'of one, without tax, in minor units of the order''s currency; null where the supplier''s list holds';
CREATE INDEX order_line_order_idx ON order_line (order_id, id);
CREATE INDEX order_line_docket_idx ON order_line (docket_id, id) WHERE docket_id IS NOT NULL;

CREATE TABLE order_event (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    order_id bigint NOT NULL REFERENCES purchase_order,
    line_id  bigint REFERENCES order_line,
    kind     text NOT NULL CHECK (kind IN ('sent', 'confirmed', 'came', 'came-wrong', 'came-unordered', 'back-ordered', 'cancelled', 'dropped')),
    pieces   integer NOT NULL DEFAULT 0 CHECK (pieces >= 0),
    due_on   date,
    note     text NOT NULL DEFAULT '',
    fate     text CHECK (fate IN ('kept', 'sent-back', 'drawer')),
    part_id  bigint REFERENCES part,
    by_id    bigint NOT NULL REFERENCES staff,
    at       timestamptz NOT NULL,
    CHECK ((fate = 'drawer') = (part_id IS NOT NULL) OR fate IS NULL)
);
COMMENT ON TABLE order_event IS 'what happened to an order or a line of it: how each piece stands follows from these';
COMMENT ON COLUMN order_event.fate IS 'what became of pieces that came wrong or unordered';
COMMENT ON COLUMN order_event.part_id IS 'as which part of the catalogue they went into the drawer';
CREATE INDEX order_event_order_idx ON order_event (order_id, id);

-- What the events come to, kept in the transaction of each so that no list adds them up.
CREATE TABLE order_now (
    order_id    bigint PRIMARY KEY REFERENCES purchase_order,
    supplier_id bigint NOT NULL REFERENCES supplier,
    stage       text NOT NULL
);
CREATE INDEX order_now_stage_idx ON order_now (stage, order_id DESC);
CREATE UNIQUE INDEX order_now_draft_idx ON order_now (supplier_id) WHERE stage = 'drafted';
CREATE TABLE order_line_now (
    line_id      bigint PRIMARY KEY REFERENCES order_line ON DELETE CASCADE,
    order_id     bigint NOT NULL REFERENCES purchase_order,
    part_id      bigint,
    part_line_id bigint,
    sent         boolean NOT NULL,
    to_come      integer NOT NULL CHECK (to_come >= 0),
    due_on       date
);
COMMENT ON COLUMN order_line_now.to_come IS 'pieces, of a draft too';
CREATE INDEX order_line_now_order_idx ON order_line_now (order_id);
CREATE UNIQUE INDEX order_line_now_need_idx ON order_line_now (part_line_id) WHERE to_come > 0;
CREATE INDEX order_line_now_part_idx ON order_line_now (part_id) WHERE to_come > 0;
CREATE INDEX order_line_now_due_idx ON order_line_now (due_on, line_id) WHERE to_come > 0 AND sent;

CREATE TABLE order_mail (
    order_id  bigint PRIMARY KEY REFERENCES purchase_order,
    sent_to   text NOT NULL,
    subject   text NOT NULL,
    body      text NOT NULL,
    name      text NOT NULL,
    pdf       bytea,
    csv       bytea,
    mail_id   text NOT NULL,
    state     text NOT NULL DEFAULT 'queued' CHECK (state IN ('queued', 'sent', 'refused')),
    queued_at timestamptz NOT NULL,
    tries     integer NOT NULL DEFAULT 0 CHECK (tries >= 0),
    begun_at  timestamptz,
    next_at   timestamptz,
    unsure    boolean NOT NULL DEFAULT false,
    said      text NOT NULL DEFAULT ''
);
COMMENT ON TABLE order_mail IS 'how far mailing an order has come; what became of it stands in the shop''s journal';
COMMENT ON COLUMN order_mail.pdf IS 'what goes with it; null once the mail is settled, as the order is made the same again';
COMMENT ON COLUMN order_mail.begun_at IS 'of a try whose outcome is not written down';
COMMENT ON COLUMN order_mail.unsure IS 'an answer of the server was lost: it may have the mail';
CREATE INDEX order_mail_refused_idx ON order_mail (order_id) WHERE state = 'refused';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON purchase_order FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON order_line FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON order_event FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE order_mail;
DROP TABLE order_line_now;
DROP TABLE order_now;
DROP TABLE order_event;
DROP TABLE order_line;
DROP TABLE purchase_order;
