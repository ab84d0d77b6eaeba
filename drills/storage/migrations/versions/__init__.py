"""The revisions, oldest first; one that was released is never changed."""
