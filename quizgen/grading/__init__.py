"""Answers to scores: typed, recorded by the drill, or scanned from answer sheets."""
