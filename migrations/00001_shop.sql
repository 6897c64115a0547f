-- +goose Up
CREATE TABLE shop (id boolean PRIMARY KEY DEFAULT true CHECK (id));
-- +goose Down
DROP TABLE shop;
