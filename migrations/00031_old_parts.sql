-- What becomes of the part that a new one replaces is a question of its own, apart from where the new one stands.

-- +goose Up
ALTER TABLE part_line
    ADD old_part text NOT NULL DEFAULT '' CHECK (old_part IN ('', 'to-return', 'returned', 'left'));
UPDATE part_line SET old_part = 'returned', state = 'fitted' WHERE state = 'returned';
ALTER TABLE part_line DROP CONSTRAINT part_line_state_check;
ALTER TABLE part_line ADD CONSTRAINT part_line_state_check
    CHECK (state IN ('needed', 'ordered', 'arrived', 'fitted', 'cancelled'));
COMMENT ON COLUMN part_line.old_part IS 'to-return: goes back with the watch; returned: went back; left: stays with the shop';
CREATE INDEX part_line_supplier_idx ON part_line (state, supplier, id) WHERE state IN ('needed', 'ordered');

-- +goose Down
DROP INDEX part_line_supplier_idx;
ALTER TABLE part_line DROP CONSTRAINT part_line_state_check;
ALTER TABLE part_line ADD CONSTRAINT part_line_state_check
    CHECK (state IN ('needed', 'ordered', 'arrived', 'fitted', 'returned', 'cancelled'));
ALTER TABLE part_line DROP old_part;
