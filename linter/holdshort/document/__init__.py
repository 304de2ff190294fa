"""YAML text to a tree in which every key and value knows its place, or one located error."""

from holdshort.document.fault import DocumentError, Fault
from holdshort.document.limits import Limits
from holdshort.document.place import Path, Span, show_path
from holdshort.document.reader import read_document, read_file, read_regular
from holdshort.document.tree import Document, Node, TreeList, TreeMap

__all__ = [
    "Document",
    "DocumentError",
    "Fault",
    "Limits",
    "Node",
    "Path",
    "Span",
    "TreeList",
    "TreeMap",
    "read_document",
    "read_file",
    "read_regular",
    "show_path",
]
