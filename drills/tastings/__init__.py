"""Taking in tastings: from files and pasted lines to drafts of pours. Pure but for the reading."""
