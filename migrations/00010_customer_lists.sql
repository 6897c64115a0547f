-- How customers are listed and found by the end of a telephone number.

-- +goose Up
-- The list goes by folded name, byte by byte, so that its pages can begin where the last one ended.
CREATE INDEX customer_list_idx ON customer (name_key COLLATE "C", id);
-- People say the last digits of a number: read backwards they are its beginning.
CREATE INDEX customer_phone_tail_idx ON customer (reverse(phone_e164) text_pattern_ops) WHERE phone_e164 <> '';

-- +goose Down
DROP INDEX customer_phone_tail_idx;
DROP INDEX customer_list_idx;
