"""The workspace on disk: TOML in and out, schema versions, templates. Computes nothing."""
