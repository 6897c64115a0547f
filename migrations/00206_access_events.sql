-- Who signed in, who was refused, and what became of sessions and second factors.

-- +goose Up
CREATE TABLE access_event (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at       timestamptz NOT NULL,
    last_at  timestamptz NOT NULL,
    times    integer NOT NULL DEFAULT 1 CHECK (times > 0),
    staff_id bigint REFERENCES staff ON DELETE CASCADE,
    by_id    bigint REFERENCES staff,
    kind     text NOT NULL CHECK (kind <> ''),
    detail   text NOT NULL DEFAULT '',
    address  text NOT NULL,
    device   text NOT NULL,
    hour     timestamptz
);
COMMENT ON TABLE access_event IS 'for the owner and for each person themselves; kept for 400 days, refusals for 90';
COMMENT ON COLUMN access_event.staff_id IS 'whom it is about; null where nobody in the shop has the e-mail address that was typed, which is not kept';
COMMENT ON COLUMN access_event.by_id IS 'who did it to them; null where they did it themselves';
COMMENT ON COLUMN access_event.times IS 'how often, from at to last_at: equal refusals within an hour are one row';
COMMENT ON COLUMN access_event.address IS 'network address; empty for refusals from more addresses than are kept apart';
COMMENT ON COLUMN access_event.hour IS 'the hour of a refusal, UTC; null for what is no refusal';
CREATE UNIQUE INDEX access_event_refused_key ON access_event (hour, coalesce(staff_id, 0), kind, address) WHERE hour IS NOT NULL;
CREATE INDEX access_event_at_idx ON access_event (at);
CREATE INDEX access_event_staff_idx ON access_event (staff_id, id);

-- +goose Down
DROP TABLE access_event;
