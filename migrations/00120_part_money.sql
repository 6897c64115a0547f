-- Who pays for a part that no agreed estimate holds. Of parts fitted before the question was asked nothing is known.

-- +goose Up
ALTER TABLE part_line
    ADD COLUMN payer text NOT NULL DEFAULT '' CHECK (payer IN ('', 'estimate', 'shop', 'customer')),
    ADD COLUMN payer_why text NOT NULL DEFAULT '';
COMMENT ON COLUMN part_line.payer IS 'of a part that no agreed estimate held when it was fitted; blank where one did, or nobody was asked';
COMMENT ON COLUMN part_line.payer_why IS 'which line covers it, or why it is on the house';

-- +goose Down
ALTER TABLE part_line DROP COLUMN payer_why, DROP COLUMN payer;
