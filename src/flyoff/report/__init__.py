"""Reports: one document from a comparison, rendered for readers, tables beside it."""
