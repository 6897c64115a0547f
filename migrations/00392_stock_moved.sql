-- +goose Up
-- When a part was last wanted, so that what lies dead is known without going through its moves.
ALTER TABLE stock ADD COLUMN wanted_at timestamptz;
COMMENT ON COLUMN stock.wanted_at IS 'when pieces last came, were held back or fitted; null where none ever were';
UPDATE stock s SET wanted_at = (SELECT max(at) FROM stock_move m WHERE m.part_id = s.part_id AND m.kind NOT IN ('counted', 'written-off', 'sent-back'));

-- +goose Down
ALTER TABLE stock DROP COLUMN wanted_at;
