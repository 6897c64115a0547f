-- +goose Up
-- What a docket needs can be a part of the catalogue: an approved estimate holds it back, and fitting takes it.

ALTER TABLE part_line ADD COLUMN part_id bigint REFERENCES part;
COMMENT ON COLUMN part_line.part_id IS 'the part of the catalogue; null for one that never is stock';
CREATE INDEX part_line_stock_idx ON part_line (part_id, id) WHERE part_id IS NOT NULL;

ALTER TABLE stock_move ALTER COLUMN by_id DROP NOT NULL;
COMMENT ON COLUMN stock_move.by_id IS 'null where a customer''s own approval reserved';

-- +goose Down
ALTER TABLE stock_move ALTER COLUMN by_id SET NOT NULL;
ALTER TABLE part_line DROP COLUMN part_id;
