-- What the house asks of whoever comes without the ticket, the owner's standing order for cards, and cash as it was counted.

-- +goose Up
ALTER TABLE shop ADD no_ticket_rule text, ADD card_by_clerk boolean;
ALTER TABLE shop_version ADD no_ticket_rule text, ADD card_by_clerk boolean;
COMMENT ON COLUMN shop.no_ticket_rule IS 'what is asked of whoever collects a watch without its ticket, a line for each; null for no rule';
COMMENT ON COLUMN shop.card_by_clerk IS 'true while the owner''s standing order lets clerks issue warranty cards; null for none';
COMMENT ON COLUMN shop_version.no_ticket_rule IS 'as in table shop';
COMMENT ON COLUMN shop_version.card_by_clerk IS 'as in table shop';

ALTER TABLE payment ADD given_minor bigint CHECK (given_minor >= minor);
COMMENT ON COLUMN payment.given_minor IS 'cash counted over the counter, in minor units: what lies above minor went back as change; null where it was not said';

-- +goose Down
ALTER TABLE payment DROP given_minor;
ALTER TABLE shop_version DROP card_by_clerk, DROP no_ticket_rule;
ALTER TABLE shop DROP card_by_clerk, DROP no_ticket_rule;
