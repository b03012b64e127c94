"""What people read and look at: words, pictures and the folder of results, made from finished results."""
