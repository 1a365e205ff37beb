"""What is known about comebacks: types, strict reader, checks of the files, and the facts."""

from comeback.kb.loader import load_knowledge, shipped_folder
from comeback.kb.problems import KnowledgeError, Problem
from comeback.kb.schema import KnowledgeBase

__all__ = ["KnowledgeBase", "KnowledgeError", "Problem", "load_knowledge", "shipped_folder"]
