-- Which lines of an estimate the customer may leave out, and who of the shop sent it or wrote the answer down.

-- +goose Up
ALTER TABLE estimate_line
    ADD optional boolean NOT NULL DEFAULT false,
    ADD declined boolean NOT NULL DEFAULT false,
    ADD CONSTRAINT estimate_line_declined_check CHECK (optional OR NOT declined);
COMMENT ON COLUMN estimate_line.declined IS 'left out by the customer, who approved the rest';
ALTER TABLE estimate_revision
    ADD sent_by bigint REFERENCES staff,
    ADD answer_taken_by bigint REFERENCES staff;
COMMENT ON COLUMN estimate_revision.answer_taken_by IS 'who wrote the answer down at the counter; null when it came by the private link';

-- +goose Down
ALTER TABLE estimate_revision DROP answer_taken_by, DROP sent_by;
ALTER TABLE estimate_line DROP CONSTRAINT estimate_line_declined_check, DROP declined, DROP optional;
