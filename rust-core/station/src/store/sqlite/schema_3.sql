-- Schema 3. Sessions end a week after they were opened; those of before are opened again.

ALTER TABLE sessions ADD COLUMN opened_ms INTEGER NOT NULL DEFAULT 0;
