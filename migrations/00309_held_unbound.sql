-- +goose Up
-- What dockets hold back is worked out from the moves, which name the dockets. Writing it anew must not wait for the docket of
-- another reservation: whoever holds that one may be waiting for this part.
ALTER TABLE stock_held DROP CONSTRAINT stock_held_docket_id_fkey;

-- +goose Down
ALTER TABLE stock_held ADD FOREIGN KEY (docket_id) REFERENCES docket;
