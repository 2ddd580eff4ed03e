"""Findings as data, the table of their rules, and their words.

Import from here: `from shaftscore.judge.findings import Finding, Cure, Words, words`.
"""

from shaftscore.judge.findings.record import Cure, Fact, Finding, Subject, found
from shaftscore.judge.findings.rules import RULES, RuleText, Severity
from shaftscore.judge.findings.words import Words, words

__all__ = ["RULES", "Cure", "Fact", "Finding", "RuleText", "Severity", "Subject", "Words", "found", "words"]
