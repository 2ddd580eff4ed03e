"""Findings as data, the table of their rules, and their words.

Import from here: `from core.findings import Finding, Cure, Words, words`.
"""

from core.findings.record import Cure, Fact, Finding, Subject, found
from core.findings.rules import RULES, RuleText, Severity
from core.findings.words import Words, words

__all__ = ["RULES", "Cure", "Fact", "Finding", "RuleText", "Severity", "Subject", "Words", "found", "words"]
