-- +goose Up
-- A delivery that was miscounted is put right by an event of its own, and what was kept aside gets its end by another.

ALTER TABLE order_event DROP CONSTRAINT order_event_kind_check;
ALTER TABLE order_event ADD CONSTRAINT order_event_kind_check
    CHECK (kind IN ('sent', 'confirmed', 'came', 'came-wrong', 'came-unordered', 'back-ordered', 'cancelled', 'dropped', 'miscounted', 'settled'));
ALTER TABLE order_event ADD COLUMN of_id bigint REFERENCES order_event;
COMMENT ON COLUMN order_event.of_id IS 'of settled: the event by which the pieces were kept aside';

-- +goose Down
ALTER TABLE order_event DROP COLUMN of_id;
