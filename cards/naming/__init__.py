"""What `cards.names` needs to read a wine's name: folding, words of the trade, the index."""
