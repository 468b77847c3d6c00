// What the page does.
