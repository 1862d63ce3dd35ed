"""What all pages share: who asks, security, errors, forms and their fields, drawings as SVG."""
