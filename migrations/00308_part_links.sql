-- +goose Up
-- Usual parts of a job, and lines of an estimate, can name a part of the catalogue.

ALTER TABLE job_part ADD COLUMN part_id bigint REFERENCES part;
COMMENT ON COLUMN job_part.part_id IS 'the part of the catalogue, by whose price the job is drafted; null for one that is priced each time';
ALTER TABLE estimate_line ADD COLUMN part_id bigint REFERENCES part;
COMMENT ON COLUMN estimate_line.part_id IS 'the part of the catalogue, which the docket needs once the line is approved; null for none';

-- +goose Down
ALTER TABLE estimate_line DROP COLUMN part_id;
ALTER TABLE job_part DROP COLUMN part_id;
