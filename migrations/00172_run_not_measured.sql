-- A run that lacks readings which its limits ask for is not measured; it was called undecided.

-- +goose Up
ALTER TABLE run DROP CONSTRAINT run_outcome_check;
ALTER TABLE run ADD CONSTRAINT run_outcome_check
    CHECK (outcome IN ('', 'pass', 'fail', 'undecided', 'not measured'));

-- +goose Down
UPDATE run SET outcome = 'undecided' WHERE outcome = 'not measured';
ALTER TABLE run DROP CONSTRAINT run_outcome_check;
ALTER TABLE run ADD CONSTRAINT run_outcome_check CHECK (outcome IN ('', 'pass', 'fail', 'undecided'));
