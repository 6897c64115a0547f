-- +goose Up
-- What is taken in cash for a watch that is lent lies in the till, and comes out of it when the watch is back.

ALTER TABLE till_move ADD COLUMN loan_id bigint REFERENCES loan;
COMMENT ON COLUMN till_move.loan_id IS 'the loan for which the deposit was taken or given back; null for what was written down by hand';
CREATE INDEX till_move_loan_idx ON till_move (loan_id) WHERE loan_id IS NOT NULL;

ALTER TABLE till_move DROP CONSTRAINT till_move_kind_check;
ALTER TABLE till_move ADD CONSTRAINT till_move_kind_check CHECK (kind IN ('float', 'banked', 'expense', 'deposits', 'kept', 'drawn'));

-- +goose Down
ALTER TABLE till_move DROP CONSTRAINT till_move_kind_check;
ALTER TABLE till_move ADD CONSTRAINT till_move_kind_check CHECK (kind IN ('float', 'banked', 'expense', 'deposits', 'drawn'));
DROP INDEX till_move_loan_idx;
ALTER TABLE till_move DROP COLUMN loan_id;
