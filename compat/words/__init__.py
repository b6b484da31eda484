"""Outcomes into sentences, in one system of units: the report, its findings, the chain of reasons."""
