-- A position may be read again at one state of wind; what the readings differ by says how well they repeat.

-- +goose Up
ALTER TABLE reading ADD COLUMN again smallint NOT NULL DEFAULT 0 CHECK (again BETWEEN 0 AND 3);
ALTER TABLE reading DROP CONSTRAINT reading_pkey;
ALTER TABLE reading ADD PRIMARY KEY (run_id, position, hours, again);
COMMENT ON COLUMN reading.again IS 'which time it was read: 0 the first, 1 and on for those taken again';

-- +goose Down
DELETE FROM reading WHERE again > 0;
ALTER TABLE reading DROP CONSTRAINT reading_pkey;
ALTER TABLE reading ADD PRIMARY KEY (run_id, position, hours);
ALTER TABLE reading DROP COLUMN again;
