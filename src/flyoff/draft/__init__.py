"""Checking what is to be published: text in, findings out; figures are passed in as data."""
