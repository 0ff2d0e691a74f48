"""The steps from one schema to the next, oldest first in `versions`. A step that was released is never changed."""
