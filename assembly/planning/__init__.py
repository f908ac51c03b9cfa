"""What a class needs before it starts: the sizes to cut, and later the stock to order."""
